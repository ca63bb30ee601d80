"""Group exposures anew by the edits made, and list the changes for sightings that are fixed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from triage.metadata.position import SAID_BY_PEOPLE
from triage.sightings.facts import (
    FIELDS_OF_PLACE,
    FIELDS_OF_TIME,
    Picture,
    Pictures,
    changes_since,
    day_of,
    facts_of_pictures,
    seconds_of,
)
from triage.sightings.proposing import (
    Frame,
    GroupingRules,
    Likeness,
    likeness_of_looks,
    propose,
)
from triage.sightings.records import Edit, Member, SightingRow, sighting_of
from triage.standards.counting import counted

OTHER_STAGES = ("exuvia", "larva")  # not the adult that a sighting is of


@dataclass(frozen=True, slots=True, kw_only=True)
class Regrouped:
    """New sightings, and by identifier what would change on those that are fixed.

    ``followed`` are fixed sightings of which people say another time or place now, or whose best
    photo from the back or from the side is another: that is only where to look first.
    """

    sightings: tuple[SightingRow, ...]
    changes: tuple[tuple[str, str], ...]
    followed: tuple[SightingRow, ...] = ()


def regroup(
    pictures: Pictures,
    fixed: Sequence[SightingRow],
    edits: Sequence[Edit],
    rules: GroupingRules,
    *,
    likeness: Likeness = likeness_of_looks,
) -> Regrouped:
    """Group the exposures of some observers' days; fixed sightings keep their photos.

    Their facts follow what people say; files, texts and a corrected clock only propose others.
    """
    best = best_copies(pictures)
    on_best = [replace(edit, members=on_best_copies(edit.members, best)) for edit in edits]
    added = {photo for edit in on_best if edit.kind == "add" for photo, _ in edit.members}
    frames = [
        frame_of(one)
        for one in pictures.values()
        if (one.measurement.odonate >= rules.least_odonate or one.best in added)
        and one.measurement.kind not in OTHER_STAGES
    ]
    here = {frame.photo for frame in frames}
    relevant = [edit for edit in on_best if any(photo in here for photo, _ in edit.members)]
    held = {member: row.identifier for row in fixed for member in on_best_copies(row.members, best)}
    found: list[SightingRow] = []
    changes: list[tuple[str, str]] = []
    for proposal in propose(frames, rules, relevant, likeness=likeness):
        free = tuple(member for member in proposal if member not in held)
        if free:
            found.append(sighting_of(free, pictures))
            more = f"{counted(len(free), 'more photo')} may show this animal"
            changes += [(one, more) for one in {held[m] for m in proposal if m in held}]
    followed = [_followed(row, pictures, best) for row in fixed]
    changes += [
        (row.identifier, change) for row in followed for change in _changes(row, pictures, best)
    ]
    return Regrouped(
        sightings=tuple(found),
        changes=tuple(sorted(set(changes))),
        followed=tuple(now for row, now in zip(fixed, followed, strict=True) if now != row),
    )


def best_copies(pictures: Pictures) -> dict[str, str]:
    """By photo: the best copy of its exposure."""
    return {photo: picture.best for picture in pictures.values() for photo in picture.copies}


def on_best_copies(members: Sequence[Member], best: Mapping[str, str]) -> tuple[Member, ...]:
    """What was said of a photo holds for the best copy that has taken its place since."""
    return tuple((best.get(photo, photo), animal) for photo, animal in members)


def frame_of(picture: Picture) -> Frame:
    """An exposure as the grouping sees it."""
    measured, place = picture.measurement, picture.chosen.place
    return Frame(
        photo=picture.best,
        observer=str(picture.observer or ""),
        message=picture.message,
        day=day_of(picture.chosen.time),
        seconds=seconds_of(picture.chosen.time),
        decimal_latitude=place.decimal_latitude if place else None,
        decimal_longitude=place.decimal_longitude if place else None,
        coordinate_uncertainty_in_meters=place.coordinate_uncertainty_in_meters if place else None,
        location_id=place.location_id if place else "",
        suborder=measured.suborder,
        colours=picture.colours,
        burst=picture.burst,
        view=measured.view,
        features=measured.features,
        told_apart=picture.told_apart,
    )


def _changes(row: SightingRow, pictures: Pictures, best: Mapping[str, str]) -> list[str]:
    """What would change on a fixed sighting; nothing while one of its photos is not at hand."""
    members = on_best_copies(row.members, best)
    if not all(photo in pictures for photo, _ in members):
        return []
    fuller = [
        f"a fuller copy arrived: {new[:12]}"
        for (old, _), (new, _) in zip(row.members, members, strict=True)
        if old != new
    ]
    return fuller + changes_since(row, sighting_of(members, pictures))


def _followed(row: SightingRow, pictures: Pictures, best: Mapping[str, str]) -> SightingRow:
    """A fixed sighting with what people say of its own photos, and the best of each view.

    What they said stands at once, and no longer once it is taken back.
    """
    members = on_best_copies(row.members, best)
    if not all(photo in pictures for photo, _ in members):
        return row
    own = {new: old for (old, _), (new, _) in zip(row.members, members, strict=True)}
    now = facts_of_pictures([pictures[photo] for photo, _ in members])
    said = {
        field: getattr(now, field)
        for fields in (FIELDS_OF_TIME, FIELDS_OF_PLACE)
        for field in fields
        if {getattr(row, fields[-1]), getattr(now, fields[-1])} & {*SAID_BY_PEOPLE}
    }
    return replace(
        row,
        best_dorsal=own.get(now.best_dorsal, ""),
        best_lateral=own.get(now.best_lateral, ""),
        **said,
    )
