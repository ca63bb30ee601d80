"""Load the sightings that wait for a name, in the order in which a look is most worth while."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from triage.determinations import Accepted
from triage.pipeline.standing import sightings, standing
from triage.review_queue import QueueEntry, QueueRules, Waiting, days_waiting, rank
from triage.sightings import Sighting, SightingRow
from triage.store import evidence, people, photos
from triage.store import sightings as store
from triage.store.connection import Survey


@dataclass(frozen=True, slots=True, kw_only=True)
class Ranked:
    """A place in the queue with what stands beside it."""

    entry: QueueEntry
    sighting: Sighting
    accepted: Accepted
    usability: dict[str, float]
    nearest: tuple[tuple[str, float, str], ...]
    changes: tuple[str, ...] = ()


def queue(survey: Survey, *, now: datetime, for_determiner: str = "") -> list[Ranked]:
    """Rank the sightings that wait for a name, without those that ``for_determiner`` has had."""
    stands = standing(survey)
    code = _code_of(survey, for_determiner)
    photo_rows = photos.load(survey, {p for row in stands.rows.values() for p, _ in row.members})
    waiting = [
        _waiting(row, stands.accepted[identifier], photo_rows, now)
        for identifier, row in stands.rows.items()
        if stands.accepted[identifier].state in ("queued", "second opinion")
        and not any(d.identified_by == code for d in stands.determinations.get(identifier, ()))
    ]
    rules = QueueRules(**survey.settings.queue.model_dump())
    names = {site.location_id: site.locality for site in evidence.sites(survey)}
    nearest: dict[str, list[tuple[str, float, str]]] = {}
    for match in evidence.matches(survey):
        if match.location_id and match.distance is not None:
            nearest.setdefault(match.sighting, []).append(
                (names.get(match.location_id, match.location_id), match.distance, match.reason)
            )
    changes: dict[str, list[str]] = {}
    for row in store.proposed_changes(survey):
        changes.setdefault(row["sighting"], []).append(row["change"])
    known = {one.identifier: one for one in sightings(survey, stands)}
    return [
        Ranked(
            entry=entry,
            sighting=known[entry.sighting],
            accepted=stands.accepted[entry.sighting],
            usability={
                photo: measurement.usability
                for photo, _ in stands.rows[entry.sighting].members
                if (measurement := photo_rows[photo].measurement)
            },
            nearest=tuple(sorted(nearest.get(entry.sighting, ()), key=lambda n: n[1])[:3]),
            changes=tuple(changes.get(entry.sighting, ())),
        )
        for entry in rank(waiting, rules)
    ]


def _code_of(survey: Survey, name: str) -> str:
    wanted = name.strip().casefold()
    if not wanted:
        return ""
    return next(
        (p.code for p in people.all_people(survey) if wanted in (p.name.casefold(), p.code)), "-"
    )


def _waiting(
    row: SightingRow,
    stands: Accepted,
    photo_rows: dict[str, photos.PhotoRow],
    now: datetime,
) -> Waiting:
    measured = {photo: photo_rows[photo].measurement for photo, _ in row.members}
    return Waiting(
        sighting=row.identifier,
        observer=str(row.observer or ""),
        days=days_waiting(row.first_received or row.event_date, now),
        photos={photo: seen for photo, seen in measured.items() if seen is not None},
        note="; ".join(_notes(row, stands, photo_rows)),
    )


def _notes(
    row: SightingRow, stands: Accepted, photo_rows: dict[str, photos.PhotoRow]
) -> Iterator[str]:
    """What the determiner should know beside the numbers."""
    if stands.state == "second opinion":
        yield stands.reason
    for photo, _ in row.members:
        measured = photo_rows[photo].measurement
        if measured is not None and measured.other_boxes:
            count = 1 + len(measured.other_boxes)
            yield (
                f"{count} insects may be in {photo[:10]}: "
                f"'triage sightings add {photo[:10]}' makes another animal"
            )
