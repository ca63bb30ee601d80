"""Part, join and set aside sightings as people say, each as an action that can be taken back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

from triage.errors import UnknownError
from triage.pipeline import proposals, repeats
from triage.pipeline.undo import refresh
from triage.sightings import Edit, Member, member_of
from triage.standards.counting import counted
from triage.store import actions, copies, determinations, grouping, photos
from triage.store import sightings as store
from triage.store.connection import Survey


def split(
    survey: Survey,
    sighting: str,
    chosen: Sequence[str],
    *,
    by: str,
    now: datetime,
    tell: repeats.Tell = repeats.silent,
) -> tuple[str, ...]:
    """Say that these photos of a sighting show another animal; said again, it adds nothing.

    Returns the photos whose sightings it touched.

    Raises
    ------
    UnknownError
        If a photo is not in the sighting, or nothing would be left in it.
    """
    said = repeats.said("split", by, sighting.lower(), sorted(one.lower() for one in chosen))
    if repeats.is_known(survey, said, tell):
        refresh(survey, now=now)
        return tuple(photos.find(survey, one) for one in chosen)
    row = store.find(survey, sighting)
    apart = [member_of(row, photo) for photo in chosen]
    rest = [member for member in row.members if member not in apart]
    if not rest:
        raise UnknownError(
            "nothing would be left in the sighting",
            failing=sighting,
            next_step="Name only the photos of the other animal.",
        )
    summary = (
        f"sighting {row.identifier}: {counted(len(apart), 'photo shows', 'photos show')}"
        f" another animal"
    )
    with actions.acting(survey, "sightings split", summary, by=by, now=now) as action:
        store.add_edit(survey, Edit(kind="split", members=tuple(apart)), action=action)
        grouping.mark_dirty(survey, row.photos)
        if row.frozen_at:
            for members in (rest, apart):
                new = proposals.sighting_of(survey, tuple(members))
                new = replace(
                    new,
                    identifier=store.unused(survey, new.identifier),
                    frozen_at=row.frozen_at,
                    first_received=row.first_received,
                )
                store.save(survey, new, action=action)
                store.supersede(survey, row.identifier, new.identifier, action=action)
        repeats.keep(survey, said, _photos(row.members), action=action)
    refresh(survey, now=now)
    return row.photos


def merge(
    survey: Survey,
    wanted: Sequence[str],
    *,
    by: str,
    now: datetime,
    tell: repeats.Tell = repeats.silent,
) -> tuple[str, ...]:
    """Say that several sightings show one animal; the one frozen first keeps its identifier.

    Said again, it adds nothing. Returns the photos whose sightings it touched.

    Raises
    ------
    UnknownError
        If fewer than two different sightings are named.
    """
    said = repeats.said("merge", by, sorted(one.lower() for one in wanted))
    if repeats.is_known(survey, said, tell):
        refresh(survey, now=now)
        return ()
    rows = list({r.identifier: r for r in (store.find(survey, one) for one in wanted)}.values())
    if len(rows) < 2:
        raise UnknownError(
            "two or more different sightings are needed",
            failing=", ".join(wanted),
            next_step="Give the identifiers that 'triage sightings' shows.",
        )
    rows.sort(key=lambda r: (not r.frozen_at, r.frozen_at, r.identifier))
    older, others = rows[0], rows[1:]
    members = tuple(member for row in rows for member in row.members)
    summary = f"one animal: {', '.join(row.identifier for row in rows)}"
    with actions.acting(survey, "sightings merge", summary, by=by, now=now) as action:
        store.add_edit(survey, Edit(kind="merge", members=members), action=action)
        grouping.mark_dirty(survey, [photo for photo, _ in members])
        if older.frozen_at:
            store.add_members(
                survey, older.identifier, [m for r in others for m in r.members], action=action
            )
            for row in others:
                if row.frozen_at:
                    store.supersede(survey, row.identifier, older.identifier, action=action)
        repeats.keep(survey, said, _photos(members), action=action)
    refresh(survey, now=now)
    return tuple(photo for photo, _ in members)


def add_animal(survey: Survey, photo: str, *, by: str, now: datetime) -> str:
    """Say that a photo shows one animal more than the sightings know; returns its sighting.

    Of a copy it is said of the best one, which stands for all.

    Raises
    ------
    UnknownError
        If no photo, or several, begin with these digits, or it is in no sighting even so; nothing
        is changed then.
    """
    [digest] = copies.exposures(survey, [photos.find(survey, photo)])
    numbers = [
        animal
        for identifier in grouping.sightings_of_photos(survey, [digest])
        for held, animal in store.find(survey, identifier).members
        if held == digest
    ]
    member: Member = (digest, max(numbers, default=0) + 1)
    summary = f"photo {digest[:12]} shows animal {member[1]}"
    with actions.acting(survey, "sightings add", summary, by=by, now=now) as action:
        store.add_edit(survey, Edit(kind="add", members=(member,)), action=action)
        statement = repeats.said("add", by, digest, member[1])
        repeats.keep(survey, statement, _photos([member]), action=action)
        grouping.mark_dirty(survey, [digest])
        refresh(survey, now=now)
        for identifier in sorted(grouping.sightings_of_photos(survey, [digest])):
            if member in store.find(survey, identifier).members:
                return identifier
        raise UnknownError(
            "this photo can be in no sighting: it was withdrawn, comes from a newsletter, or shows"
            " a shed skin or a larva",
            failing=photo,
            next_step="'triage photos' says what is known of it.",
        )


def set_aside(
    survey: Survey,
    sighting: str,
    reason: str,
    *,
    by: str,
    now: datetime,
    back: bool = False,
    tell: repeats.Tell = repeats.silent,
) -> tuple[str, ...]:
    """Take a sighting out of the queue with a reason, or put it back; said again, nothing.

    Returns its photos.
    """
    row = store.find(survey, sighting)
    said = repeats.said("set aside", by, row.identifier, reason, back)
    if repeats.is_known(survey, said, tell):
        return row.photos
    state = "queued" if back else "set aside"
    command, done = ("put-back", "put back") if back else ("set-aside", "set aside")
    summary = ": ".join(filter(None, [f"sighting {row.identifier}", done, reason]))
    with actions.acting(survey, f"sightings {command}", summary, by=by, now=now) as action:
        store.freeze(survey, row.identifier, now=now)
        determinations.add_state(survey, row.identifier, state, reason, action=action)
        repeats.keep(survey, said, [f"aside {row.identifier}"], action=action)
    return row.photos


def _photos(members: Sequence[Member]) -> list[str]:
    """What an edit speaks of."""
    return [f"animals {photo}" for photo, _ in members]
