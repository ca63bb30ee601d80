"""What an export says of photos of sightings: whose they are, what they show, what is in doubt."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping

from triage.exports.content import MediaRow
from triage.metadata.choosing import Chosen
from triage.quality.kept import PhotoRow
from triage.sightings import Sighting


def media_of(
    found: Iterable[Sighting],
    rows: Mapping[str, PhotoRow],
    *,
    creators: Mapping[str, str],
    licences: Mapping[str, str],
    taken: Mapping[str, Chosen],
    held_back: Mapping[str, str],
) -> Iterator[MediaRow]:
    """Each photo of each sighting, with everything that decides whether it may leave.

    ``creators`` are by photo the codes of those who took it where the sender did not; ``licences``
    by code what the photos of a person may be had under, of nobody who refused; ``taken`` what
    stands of each photo alone; ``held_back`` why photos may not leave otherwise.
    """
    for one in found:
        for photo in one.photos:
            row, chosen = rows[photo], taken.get(photo)
            measured = row.measurement
            creator = creators.get(photo, one.observer)
            # When this very photo was taken; frames of one sighting are seconds apart.
            time = chosen.time if chosen is not None else None
            yield MediaRow(
                sighting=one.identifier,
                sha256=photo,
                format=row.photo.format,
                width=row.photo.width,
                height=row.photo.height,
                view=measured.view if measured else "",
                box=measured.box if measured else None,
                focus=measured.focus if measured else None,
                focus_method=measured.method if measured else "",
                capture_date=time.event_date if time is not None else one.event_date,
                creator=creator,
                licence=licences.get(creator, ""),
                cleared_for_publication=row.publication == "cleared",
                held_back=held_back.get(photo, ""),
                is_best=photo in (one.best_dorsal, one.best_lateral) or photo == one.photos[0],
            )


def in_doubt_of(found: Iterable[Sighting], doubts: Mapping[str, Collection[str]]) -> dict[str, str]:
    """By sighting: what is still an open question about any of its photos, in words."""
    told = {
        one.identifier: {d for photo in one.photos for d in doubts.get(photo, ())} for one in found
    }
    return {identifier: "; ".join(sorted(ones)) for identifier, ones in told.items() if ones}
