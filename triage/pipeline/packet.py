"""Make a packet of the sightings to look at next for a determiner far away."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from triage.determinations.determiners import KnownPerson
from triage.errors import TriageError, UnknownError
from triage.packets import Packet, Picture, Shown, identifier_of, key_of
from triage.packets.pictures import picture_of, write_packet
from triage.pipeline import queueing, sighting_page
from triage.report.sighting_page import Frame, names_for_page
from triage.sightings import SightingRow
from triage.standards.counting import counted
from triage.store import actions, evidence, originals, packets, people, whole_files
from triage.store import sightings as store
from triage.store.connection import Survey
from triage.workers.progress import Progress, silent

MEGABYTE = 1_000_000
MEGABYTES = 20.0  # of a packet, unless asked otherwise
PICTURES = 3  # of one sighting: the best from the back, the best from the side, one more
FOR_THE_PAGE = 400_000  # bytes kept for everything that is no picture


@dataclass(frozen=True, slots=True, kw_only=True)
class PacketOutcome:
    """What was written, and what could not be: sightings without a readable picture."""

    path: Path
    packet: str
    sightings: int
    pictures: int
    byte_size: int
    unreadable: int

    @property
    def lines(self) -> list[str]:
        """The same for people."""
        said = [
            f"{self.path}: packet {self.packet}, {counted(self.sightings, 'sighting')} with"
            f" {counted(self.pictures, 'picture')}, {self.byte_size / 1e6:.1f} MB."
        ]
        if self.unreadable:
            left_out = counted(self.unreadable, "sighting")
            said.append(f"Left out, no picture can be read: {left_out}.")
        return said


def make(
    survey: Survey,
    target: Path,
    *,
    whom: str,
    count: int,
    megabytes: float,
    page: Callable[[Packet], str],
    by: str,
    now: datetime,
    new: bool = False,
    progress: Progress = silent,
) -> PacketOutcome:
    """Write one .zip with the next ``count`` sightings of a determiner's queue.

    ``page`` makes the page of what the packet holds. Nobody's name, no place and no earlier
    determination is in it. The sightings are fixed then, as when they are exported.

    Raises
    ------
    UnknownError
        If the determiner is unknown, or nothing waits for this person.
    SourceError
        If the file cannot be written.
    """
    person = people.meant(people.known(survey), whom, new=new)
    waiting = _waiting(survey, person, count, now)
    name = identifier_of(f"{person.code} {actions.utc_text(now)} {' '.join(waiting)}")
    most = int(megabytes * MEGABYTE) - FOR_THE_PAGE
    shown = _shown(survey, waiting, name, most, progress)
    content = Packet(
        identifier=name,
        title=survey.settings.survey.title,
        shown=tuple(one for _, one in shown),
        names=tuple(names_for_page(evidence.checklist(survey))),
    )
    with survey.transaction():  # a packet that could not be written was never made
        person = people.added(survey, person)
        summary = f"packet {name} for {person.code}: {counted(len(shown), 'sighting')}"
        action = actions.record(survey, "packet", summary, by=by, now=now)
        held = [(row.identifier, row.photos) for row, _ in shown]
        packets.add(survey, name, person.row, held, action=action)
        for identifier, _ in held:
            store.freeze(survey, identifier, now=now)
        with whole_files.handed_out(target, "the packet") as part:
            write_packet(part, content, page(content))
    return PacketOutcome(
        path=target,
        packet=name,
        sightings=len(shown),
        pictures=sum(len(one.pictures) for _, one in shown),
        byte_size=target.stat().st_size,
        unreadable=len(waiting) - len(shown),
    )


def _waiting(survey: Survey, person: KnownPerson, count: int, now: datetime) -> list[str]:
    places = queueing.queue(survey, now=now, for_determiner=person.code, limit=max(count, 0))
    if not places:
        raise UnknownError(
            "no sighting waits for this determiner",
            failing=person.name or person.code,
            next_step="See 'triage queue --for NAME'.",
        )
    return [place.sighting.identifier for place in places]


def _shown(
    survey: Survey, waiting: list[str], name: str, most: int, progress: Progress
) -> list[tuple[SightingRow, Shown]]:
    """The sightings with their pictures, each within its share of the bytes that are left."""
    found: list[tuple[SightingRow, Shown]] = []
    wholes = [sighting_page.whole_sighting(survey, one, blind=True) for one in waiting]
    left = most
    pictures_left = sum(len(whole.frames[:PICTURES]) for whole in wholes)
    for done, whole in enumerate(wholes, 1):
        pictures = []
        for frame in whole.frames[:PICTURES]:
            most_bytes = max(left // max(pictures_left, 1), 1024)
            made = _picture(survey, frame, most_bytes)
            pictures_left -= 1
            if made is not None:
                left -= len(made.jpeg)
                pictures.append(made)
        if pictures:
            key = key_of(name, len(found) + 1)
            row = store.find(survey, whole.identifier)
            day = whole.event_date[:10]
            found.append((row, Shown(key=key, day=day, pictures=tuple(pictures))))
        progress("packing", done, len(wholes))
    return found


def _picture(survey: Survey, frame: Frame, most_bytes: int) -> Picture | None:
    """The part of a photo around its insect; None where the photo cannot be read."""
    try:
        content = originals.content_of(survey.originals, frame.photo)
        return picture_of(content, frame.photo, frame.view, frame.measured, most_bytes=most_bytes)
    except (TriageError, OSError):
        return None
