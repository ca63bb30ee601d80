"""Photos that are new or changed in, their sightings proposed anew out; frozen ones stay.

Only the observers and days that a changed photo touches are looked at again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from triage.metadata.capture_time import TimeClaim
from triage.pipeline import claims
from triage.pipeline.progress import Progress, silent
from triage.quality import Measurement
from triage.sightings import Edit, Frame, GroupingRules, Member, sighting_identifier
from triage.sightings import propose as group
from triage.store import copies, grouping, messages, photos, sightings
from triage.store.connection import Survey

METHOD = "sightings 2"
BY_HAND = ("coordinator", "sender's answer")  # what people say of one photo holds for its animal


@dataclass(frozen=True, slots=True, kw_only=True)
class _Picture:
    """One exposure: its best copy, all copies, and what stands for it."""

    best: str
    members: tuple[str, ...]
    observer: int | None
    received: str
    row: photos.PhotoRow
    chosen: claims.Chosen
    frame: Frame
    partition: str  # observer and day: only within it are photos joined unasked


def propose(survey: Survey, *, now: datetime, progress: Progress = silent) -> int:
    """Propose sightings for everything that changed; returns how many were looked at."""
    _note_rules(survey)
    changed = grouping.dirty(survey, METHOD)
    if not changed:
        return 0
    with survey.transaction():
        pictures = _pictures(survey, changed)
        around, mates = _surroundings(survey, changed, pictures)
        others = (mates | {p for row in around for p, _ in row.members}) - {
            member for picture in pictures.values() for member in picture.members
        }
        pictures |= _pictures(survey, sorted(others))
        count = _rewrite(survey, pictures, around)
        grouping.set_partitions(
            survey,
            {photo: "" for photo in changed}
            | {photo: one.partition for one in pictures.values() for photo in one.members},
        )
        grouping.mark_grouped(survey, changed, METHOD)
        messages.make_due(survey, sorted(grouping.messages_of_photos(survey, changed)))
    progress("grouping", len(changed), len(changed))
    return count


def _note_rules(survey: Survey) -> None:
    """Other rules in survey.toml group everything anew; frozen sightings stay, as always."""
    rules = survey.settings.sightings.model_dump_json()
    if grouping.rules_noted(survey) != rules:
        with survey.transaction():
            grouping.mark_everything_dirty(survey)
            grouping.note_rules(survey, rules)


def _pictures(survey: Survey, wanted: Sequence[str]) -> dict[str, _Picture]:
    """By best copy: the exposures that these photos show."""
    groups = copies.exposures(survey, wanted)
    rows = photos.load(survey, groups)
    chosen = claims.choose(survey, groups)
    bursts = copies.groups_of(survey, "burst", groups)
    shown: dict[str, list[photos.AppearanceRow]] = {}
    for one in photos.appearances(survey, [p for ps in groups.values() for p in ps]):
        shown.setdefault(one.photo, []).append(one)
    firsts = {
        best: min((one for p in everyone for one in shown.get(p, ())), key=lambda o: o.part)
        for best, everyone in groups.items()
        if rows[best].measurement is not None
    }
    arrived = messages.arrivals(survey, {one.message for one in firsts.values()})
    found = {}
    for best, first in firsts.items():
        message, received = arrived[first.message]
        frame = _frame(rows[best], chosen[best], first, message, bursts.get(best))
        found[best] = _Picture(
            best=best,
            members=tuple(groups[best]),
            observer=first.person,
            received=received,
            row=rows[best],
            chosen=chosen[best],
            frame=frame,
            partition=f"{frame.observer} {frame.day or message}",
        )
    return found


def _frame(
    row: photos.PhotoRow,
    chosen: claims.Chosen,
    first: photos.AppearanceRow,
    message: str,
    burst: tuple[str, bool] | None,
) -> Frame:
    measured = row.measurement
    assert measured is not None
    place = chosen.place
    return Frame(
        photo=row.photo.sha256,
        observer=str(first.person or ""),
        message=message,
        day=day_of(chosen.time),
        seconds=seconds_of(chosen.time),
        decimal_latitude=place.decimal_latitude if place else None,
        decimal_longitude=place.decimal_longitude if place else None,
        coordinate_uncertainty_in_meters=place.coordinate_uncertainty_in_meters if place else None,
        location_id=place.location_id if place else "",
        suborder=measured.suborder,
        suborder_probability=max(measured.suborder_probability, 1 - measured.suborder_probability),
        colours=row.colours,
        burst=burst[0] if burst else "",
        camera=f"{row.exif.make} {row.exif.model}".strip(),
    )


def day_of(time: TimeClaim | None) -> str:
    """The day of a claim, the first one of an interval, or nothing."""
    return time.event_date[:10] if time else ""


def seconds_of(time: TimeClaim | None) -> float | None:
    """Seconds on a clock common to one observer's photos, if the time of day is known."""
    if time is None or "/" in time.event_date or "T" not in time.event_date:
        return None
    moment = datetime.fromisoformat(time.event_date)
    # Cameras of one observer show local time: without offset that clock is compared as it is.
    return moment.replace(tzinfo=None).timestamp()


def _surroundings(
    survey: Survey, changed: Sequence[str], pictures: dict[str, _Picture]
) -> tuple[list[sightings.SightingRow], set[str]]:
    """Sightings that the change may touch, and all photos of the observers' days in question.

    Both the day that a photo belonged to and the one that it belongs to now are looked at whole:
    who leaves a group may let others join that he kept apart.
    """
    merges = [edit for edit in sightings.edits(survey) if edit.kind == "merge"]
    partitions = grouping.partitions_of(survey, changed)
    partitions |= {picture.partition for picture in pictures.values()}
    here = {p for picture in pictures.values() for p in picture.members} | set(changed)
    rows: list[sightings.SightingRow] = []
    reached: set[str] = set()
    while reached != here:  # what people merged may reach other days, rarely more than one step
        reached = here | grouping.photos_in_partitions(survey, partitions)
        rows = sightings.of_identifiers(survey, grouping.sightings_of_photos(survey, reached))
        reached |= {photo for row in rows for photo, _ in row.members}
        merged = {
            photo
            for edit in merges
            if any(photo in reached for photo, _ in edit.members)
            for photo, _ in edit.members
        }
        here = reached | merged
        partitions |= grouping.partitions_of(survey, here)
        here |= grouping.photos_in_partitions(survey, partitions)
    return rows, here


def _rewrite(
    survey: Survey,
    pictures: dict[str, _Picture],
    around: list[sightings.SightingRow],
) -> int:
    least = survey.settings.sightings.least_odonate
    edits = [_on_best_copies(edit, pictures) for edit in sightings.edits(survey)]
    added = {photo for edit in edits if edit.kind == "add" for photo, _ in edit.members}
    frames = [
        p.frame
        for p in pictures.values()
        if p.row.measurement is not None
        and (p.row.measurement.odonate >= least or p.best in added)
        and p.row.measurement.kind not in ("exuvia", "larva")
    ]
    rules = GroupingRules(
        same_animal_seconds=survey.settings.sightings.same_animal_seconds,
        same_place_metres=survey.settings.sightings.same_place_metres,
        least_likeness=survey.settings.sightings.least_likeness,
    )
    frozen = {row.identifier: row for row in around if row.frozen_at}
    sightings.delete_unfrozen(survey, [row.identifier for row in around if not row.frozen_at])
    sightings.clear_proposed_changes(survey, frozen)
    held = _held_by_frozen(frozen, pictures)
    here = {frame.photo for frame in frames}
    relevant = [e for e in edits if any(photo in here for photo, _ in e.members)]
    count = 0
    for proposal in group(frames, rules, relevant):
        free = tuple(member for member in proposal if member not in held)
        for identifier in {held[member] for member in proposal if member in held}:
            if free:
                change = f"{len(free)} more photo(s) may show this animal"
                sightings.propose_change(survey, identifier, change)
        if free:
            sightings.save(survey, _sighting(free, pictures))
            count += 1
    for row in frozen.values():
        _propose_changes(survey, row, pictures)
    return count


def _on_best_copies(edit: Edit, pictures: dict[str, _Picture]) -> Edit:
    """An edit made on a photo holds for the best copy that has taken its place since."""
    best = {photo: picture.best for picture in pictures.values() for photo in picture.members}
    return Edit(kind=edit.kind, members=tuple((best.get(p, p), n) for p, n in edit.members))


def _held_by_frozen(
    frozen: dict[str, sightings.SightingRow], pictures: dict[str, _Picture]
) -> dict[Member, str]:
    """Members of frozen sightings, under the best copy of each picture as it is now."""
    best = {photo: picture.best for picture in pictures.values() for photo in picture.members}
    return {
        (best.get(photo, photo), animal): row.identifier
        for row in frozen.values()
        for photo, animal in row.members
    }


def _propose_changes(
    survey: Survey, row: sightings.SightingRow, pictures: dict[str, _Picture]
) -> None:
    best = {photo: picture.best for picture in pictures.values() for photo in picture.members}
    members = tuple((best.get(p, p), n) for p, n in row.members)
    if not all(photo in pictures for photo, _ in members):
        return
    now = _sighting(members, pictures)
    for old, new in zip(row.members, members, strict=True):
        if old[0] != new[0]:
            sightings.propose_change(
                survey, row.identifier, f"a fuller copy arrived: {new[0][:12]}"
            )
    if now.event_date != row.event_date:
        sightings.propose_change(
            survey, row.identifier, f"the date would become {now.event_date or 'unknown'}"
        )
    if now.location_id != row.location_id or _moved(now, row):
        where = now.locality or f"{now.decimal_latitude}, {now.decimal_longitude}"
        sightings.propose_change(survey, row.identifier, f"the place would become {where}")


def sighting_of(survey: Survey, members: tuple[Member, ...]) -> sightings.SightingRow:
    """The sighting that these photos make, by the claims that stand now."""
    pictures = _pictures(survey, [photo for photo, _ in members])
    by_member = {p: picture for picture in pictures.values() for p in picture.members}
    found = _sighting(tuple((by_member[p].best, n) for p, n in members), pictures)
    return replace(found, identifier=sighting_identifier(members), members=members)


def _moved(now: sightings.SightingRow, then: sightings.SightingRow) -> bool:
    return (now.decimal_latitude, now.decimal_longitude) != (
        then.decimal_latitude,
        then.decimal_longitude,
    )


def _sighting(members: tuple[Member, ...], pictures: dict[str, _Picture]) -> sightings.SightingRow:
    """The facts of a sighting: the earliest time, the surest place, the best photo of each view."""
    shown = [pictures[photo] for photo, _ in members]
    times = [p.chosen.time for p in shown if p.chosen.time]
    time = (
        min(
            times,
            key=lambda t: (t.source not in BY_HAND, len(t.event_date) < 11, t.event_date),
        )
        if times
        else None
    )
    places = [p.chosen.place for p in shown if p.chosen.place]
    place = (
        min(
            places,
            key=lambda c: (
                c.source not in BY_HAND,
                len(c.doubts),
                c.decimal_latitude is None,
                c.coordinate_uncertainty_in_meters or 1e9,
            ),
        )
        if places
        else None
    )
    usable = sorted(shown, key=lambda p: (-_measured(p).usability, p.best))
    best = {
        view: next((p.best for p in usable if _measured(p).view == view), "")
        for view in ("dorsal", "lateral")
    }
    order = [*dict.fromkeys([b for b in best.values() if b] + [p.best for p in usable])]
    anisoptera = sum(
        m.suborder_probability if m.suborder == "anisoptera" else 1 - m.suborder_probability
        for m in map(_measured, shown)
    ) / len(shown)
    return sightings.SightingRow(
        identifier=sighting_identifier(members),
        observer=shown[0].observer,
        event_date=time.event_date if time else "",
        decimal_latitude=place.decimal_latitude if place else None,
        decimal_longitude=place.decimal_longitude if place else None,
        coordinate_uncertainty_in_meters=place.coordinate_uncertainty_in_meters if place else None,
        location_id=place.location_id if place else "",
        locality=place.locality if place else "",
        georeference_protocol=place.georeference_protocol if place else "",
        place_source=place.source if place else "",
        time_source=time.source if time else "",
        suborder="anisoptera" if anisoptera >= 0.5 else "zygoptera",
        best_dorsal=best["dorsal"],
        best_lateral=best["lateral"],
        first_received=min(p.received for p in shown),
        frozen_at="",
        superseded_by="",
        members=tuple(sorted(members, key=lambda m: (order.index(m[0]), m[1]))),
    )


def _measured(picture: _Picture) -> Measurement:
    assert picture.row.measurement is not None
    return picture.row.measurement
