"""Keep sightings with their photos, what people joined and parted, and what follows from it."""

from __future__ import annotations

import sqlite3
from collections.abc import Collection, Iterable, Sequence
from datetime import datetime

from triage.sightings import Edit, Member, SightingRow
from triage.sightings.facts import facts_of
from triage.standards import identifiers
from triage.standards.digests import short_digest_of
from triage.standards.groups import in_groups
from triage.store import rows as records
from triage.store.actions import utc_text
from triage.store.connection import Survey

_SHOWN_BY = "'triage sightings' or 'triage queue'"
_SELECT = "select * from known_sightings"


def every(survey: Survey) -> list[SightingRow]:
    """All sightings by identifier, but those merged into another."""
    query = f"{_SELECT} where superseded_by is null order by identifier"
    return _with_members(survey, survey.run(query))


def count(survey: Survey) -> int:
    """How many sightings there are, merged ones too."""
    return survey.count("sightings")


def find(survey: Survey, text: str) -> SightingRow:
    """The sighting whose identifier begins with the text.

    Raises
    ------
    UnknownError
        If none or several match, or fewer than six digits are given.
    """
    query = f"{_SELECT} where identifier between ? and ?"
    rows = survey.run(query, *identifiers.beginnings(text, _SHOWN_BY)).fetchall()
    return _with_members(survey, [identifiers.the_one(rows, "sighting", text, _SHOWN_BY)])[0]


def of_observer_and_day(survey: Survey, observer: int | None, day: str) -> list[SightingRow]:
    """The live sightings of an observer on one day (ISO), by identifier."""
    found = survey.run(
        f"{_SELECT} where observer_id is ? and substr(event_date, 1, 10) = ?"
        " and superseded_by is null order by identifier",
        observer,
        day,
    )
    return _with_members(survey, found)


def of_identifiers(survey: Survey, identifiers: Iterable[str]) -> list[SightingRow]:
    """These sightings, by identifier."""
    rows = survey.run_in(f"{_SELECT} where identifier in (...)", sorted(identifiers))
    return _with_members(survey, rows)


def save(survey: Survey, sighting: SightingRow, *, action: int | None = None) -> None:
    """Insert a sighting with its photos; ``action`` is the split that made it.

    A split that was taken back and is made again takes up its old row: the same photos are the
    same sighting, and what was said of it holds again.
    """
    values = records.values_of(sighting)
    del values["members"], values["superseded_by"]
    values["observer_id"] = values.pop("observer")
    values |= {"frozen_at": sighting.frozen_at or None, "action_id": action}
    query = (
        "select id from sightings where identifier = ? and action_id is not null"
        f" and not {records.holds('action_id')}"
    )
    row = survey.first(query, sighting.identifier)
    if row is None:
        row = survey.insert("sightings", values)
    else:
        survey.update("sightings", values, id=row)
        survey.run("delete from sighting_photos where sighting_id = ?", row)
    _save_members(survey, row, sighting.members)


def unused(survey: Survey, identifier: str) -> str:
    """The identifier or, where a sighting bears it already, another that follows from it.

    A sighting that was joined to another and is split off again has the photos it had before.
    """
    while survey.exists("known_sightings where identifier = ?", identifier):
        identifier = short_digest_of(f"{identifier} again")
    return identifier


def delete_unfrozen(survey: Survey, identifiers: Iterable[str]) -> None:
    """Drop proposals that are to be made anew; frozen sightings are never dropped."""
    query = "select id from sightings where frozen_at is null and identifier in (...)"
    rows = survey.column_in(query, identifiers)
    survey.run_in("delete from sighting_photos where sighting_id in (...)", rows)
    survey.run_in("delete from sightings where id in (...)", rows)


def freeze(survey: Survey, identifier: str, *, now: datetime) -> None:
    """Fix a sighting and its identifier: it was determined or exported."""
    query = "update sightings set frozen_at = ? where identifier = ? and frozen_at is null"
    survey.run(query, utc_text(now), identifier)


def unfixed(survey: Survey) -> list[str]:
    """Sightings that were named, or followed by another, and yet are not fixed: a damage."""
    query = (
        "select identifier from sightings where frozen_at is null and (identifier in"
        " (select sighting from determinations) or identifier in"
        " (select old from sighting_succession)) order by identifier"
    )
    return survey.column(query)


def set_observer(survey: Survey, identifier: str, person: int | None) -> None:
    """Note whose a frozen sighting is, after it was said who took its photos."""
    survey.update("sightings", {"observer_id": person}, identifier=identifier)


def save_facts(survey: Survey, row: SightingRow) -> None:
    """Write the facts of a frozen sighting, after people said others of its photos."""
    survey.update("sightings", facts_of(row), identifier=row.identifier)


def supersede(survey: Survey, old: str, new: str, *, action: int) -> None:
    """Append that a frozen sighting was split into another, or merged into it."""
    values = {"old": old, "new": new, "action_id": action}
    survey.insert("sighting_succession", values)


def predecessors(survey: Survey, sightings: Collection[str]) -> dict[str, list[str]]:
    """By sighting: those whose determinations may speak of its photos, over any number of steps.

    These are the sightings whose place it took, and those that a split made of it and that are no
    more since the split was taken back: what was said of them was said of its photos.
    """
    before: dict[str, list[str]] = {}
    todo = set(sightings)
    while todo:
        reached = _one_step_before(survey, todo)
        before |= {one: reached.get(one, []) for one in todo}
        todo = {old for olds in reached.values() for old in olds} - before.keys()
    return {one: _all_before(one, before) for one in sightings if before[one]}


def with_kin(survey: Survey, sightings: Iterable[str]) -> list[str]:
    """These sightings, and those that each came from or became in one step."""
    found = set(sightings)
    for one, other in (("new", "old"), ("old", "new")):
        query = f"select {one} from sighting_succession where {other} in (...)"
        found |= survey.column_in(query, found)
    return sorted(found)


def _one_step_before(survey: Survey, sightings: Collection[str]) -> dict[str, list[str]]:
    query = (
        "select x.new, x.old from sighting_succession x"
        f" where {records.holds('x.action_id')} and x.new in (...)"
    )
    parted = (
        "select x.old, x.new from sighting_succession x"
        f" where not {records.holds('x.action_id')} and x.old in (...)"
        " and not exists (select 1 from known_sightings k where k.identifier = x.new)"
    )
    rows = [*survey.run_in(query, sightings), *survey.run_in(parted, sightings)]
    return in_groups((row[0], row[1]) for row in rows)


def _all_before(sighting: str, before: dict[str, list[str]]) -> list[str]:
    todo, seen = sorted(before[sighting]), []
    while todo:
        one = todo.pop(0)
        if one not in seen and one != sighting:
            seen.append(one)
            todo += sorted(before.get(one, []))
    return seen


def add_members(survey: Survey, identifier: str, members: Sequence[Member], *, action: int) -> None:
    """Append photos to a frozen sighting, after a person merged them in."""
    row = survey.first("select id from sightings where identifier = ?", identifier)
    _save_members(survey, row, members, start=1000, action=action)


def set_proposed_changes(
    survey: Survey, sightings: Iterable[str], changes: Iterable[tuple[str, str]]
) -> None:
    """Note all that would change on these frozen sightings if they were not frozen."""
    survey.run_in("delete from proposed_changes where sighting in (...)", sightings)
    survey.run_each("insert or ignore into proposed_changes values (?, ?)", changes)


def proposed_changes_of(survey: Survey, sightings: Iterable[str]) -> dict[str, list[str]]:
    """By frozen sighting, of these: what would change on it."""
    query = "select * from proposed_changes where sighting in (...) order by sighting, change"
    return in_groups((row["sighting"], row["change"]) for row in survey.run_in(query, sightings))


def add_edit(survey: Survey, edit: Edit, *, action: int) -> None:
    """Append what a person said about which photos show one animal."""
    survey.insert("sighting_edits", records.values_of(edit) | {"action_id": action})


def edits(survey: Survey) -> list[Edit]:
    """Live edits in the order they were made."""
    return survey.records(Edit, f"select * from sighting_edits where {records.holds()} order by id")


def note_export(survey: Survey, sighting: str, *, now: datetime) -> None:
    """Note that a sighting has been exported: its identifier is out in the world."""
    survey.run("insert or ignore into exports values (?, ?)", sighting, utc_text(now))


def _save_members(
    survey: Survey,
    row: int,
    members: Sequence[Member],
    *,
    start: int = 0,
    action: int | None = None,
) -> None:
    survey.run_each(
        "insert or replace into sighting_photos (sighting_id, photo, animal, position, action_id)"
        " values (?, ?, ?, ?, ?)",
        ((row, *member, place, action) for place, member in enumerate(members, start)),
    )


def _with_members(survey: Survey, found: Iterable[sqlite3.Row]) -> list[SightingRow]:
    rows = list(found)
    query = (
        "select sighting_id, photo, animal from sighting_photos where sighting_id in (...) and"
        f" {records.derived_or_holds()} order by sighting_id, position"
    )
    photos = survey.run_in(query, [row["id"] for row in rows])
    members = in_groups((row[0], (row[1], row[2])) for row in photos)
    return [
        records.record_of(SightingRow, row, members=tuple(members.get(row["id"], ())))
        for row in rows
    ]
