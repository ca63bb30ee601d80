"""Sightings and determinations in, rows out; and the live ones back."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from triage.determinations import Determination
from triage.errors import UnknownError
from triage.sightings import Edit, Member
from triage.store.actions import utc_text
from triage.store.connection import Survey, portions


@dataclass(frozen=True, slots=True, kw_only=True)
class SightingRow:
    """A sighting as kept: its members and the facts chosen from their claims."""

    identifier: str
    observer: int | None
    event_date: str
    decimal_latitude: float | None
    decimal_longitude: float | None
    coordinate_uncertainty_in_meters: float | None
    location_id: str
    locality: str
    georeference_protocol: str
    place_source: str
    time_source: str
    suborder: str
    best_dorsal: str
    best_lateral: str
    first_received: str
    frozen_at: str
    superseded_by: str
    members: tuple[Member, ...]


_FACTS = (
    "observer_id, event_date, decimal_latitude, decimal_longitude,"
    " coordinate_uncertainty_in_meters, location_id, locality, georeference_protocol,"
    " place_source, time_source, suborder, best_dorsal, best_lateral, first_received"
)


def every(survey: Survey, *, superseded: bool = False) -> list[SightingRow]:
    """All sightings by identifier; those merged into another only when asked for."""
    where = "" if superseded else "where superseded_by is null"
    return _load(survey, f"select * from known_sightings {where} order by identifier", ())


def find(survey: Survey, text: str) -> SightingRow:
    """The sighting whose identifier begins with the text.

    Raises
    ------
    UnknownError
        If none or several match.
    """
    rows = _load(
        survey,
        "select * from known_sightings where identifier between ? and ? order by identifier",
        (text.lower(), text.lower() + "~"),
    )
    if len(rows) != 1:
        raise UnknownError(
            "there is no such sighting" if not rows else f"{len(rows)} sightings begin so",
            failing=text,
            next_step="See 'triage sightings' or 'triage queue' for the identifiers.",
        )
    return rows[0]


def of_identifiers(survey: Survey, identifiers: Iterable[str]) -> list[SightingRow]:
    """These sightings, by identifier."""
    return [
        row
        for portion in portions(sorted(identifiers))
        for row in _load(
            survey,
            "select * from known_sightings where identifier in"
            f" ({','.join('?' * len(portion))}) order by identifier",
            portion,
        )
    ]


def save(survey: Survey, sighting: SightingRow, *, action: int | None = None) -> None:
    """Insert a sighting with its photos; ``action`` is the split that made it.

    A split that was taken back and is made again takes up its old row: the same photos are the
    same sighting, and what was said of it holds again.
    """
    facts = (
        sighting.observer,
        sighting.event_date,
        sighting.decimal_latitude,
        sighting.decimal_longitude,
        sighting.coordinate_uncertainty_in_meters,
        sighting.location_id,
        sighting.locality,
        sighting.georeference_protocol,
        sighting.place_source,
        sighting.time_source,
        sighting.suborder,
        sighting.best_dorsal,
        sighting.best_lateral,
        sighting.first_received,
        sighting.frozen_at or None,
        action,
    )
    run = survey.connection.execute
    before = run(
        "select id from sightings where identifier = ? and action_id is not null"
        " and action_id not in (select id from live_actions)",
        (sighting.identifier,),
    ).fetchone()
    if before is None:
        marks = ", ".join("?" * 17)
        cursor = run(
            f"insert into sightings (identifier, {_FACTS}, frozen_at, action_id) values ({marks})",
            (sighting.identifier, *facts),
        )
        row = int(cursor.lastrowid or 0)
    else:
        row = int(before[0])
        marks = ", ".join("?" * 16)
        run(
            f"update sightings set ({_FACTS}, frozen_at, action_id) = ({marks}) where id = ?",
            (*facts, row),
        )
        run("delete from sighting_photos where sighting_id = ?", (row,))
    _save_members(survey, row, sighting.members)


def delete_unfrozen(survey: Survey, identifiers: Iterable[str]) -> None:
    """Drop proposals that are to be made anew; frozen sightings are never dropped."""
    for identifier in identifiers:
        row = survey.connection.execute(
            "select id from sightings where identifier = ? and frozen_at is null", (identifier,)
        ).fetchone()
        if row is None:
            continue
        survey.connection.execute("delete from sighting_photos where sighting_id = ?", (row[0],))
        survey.connection.execute("delete from sightings where id = ?", (row[0],))


def freeze(survey: Survey, identifier: str, *, now: datetime) -> None:
    """Fix a sighting and its identifier: it was determined or exported."""
    survey.connection.execute(
        "update sightings set frozen_at = ? where identifier = ? and frozen_at is null",
        (utc_text(now), identifier),
    )


def supersede(survey: Survey, old: str, new: str, *, action: int) -> None:
    """Append that a frozen sighting was split into another, or merged into it."""
    survey.connection.execute(
        "insert into sighting_succession (old, new, action_id) values (?, ?, ?)",
        (old, new, action),
    )


def predecessors(survey: Survey) -> dict[str, list[str]]:
    """By sighting: those whose determinations may speak of its photos, over any number of steps.

    These are the sightings whose place it took, and those that a split made of it and that are no
    more since the split was taken back: what was said of them was said of its photos.
    """
    before: dict[str, list[str]] = {}
    for row in survey.connection.execute(
        "select s.old, s.new, a.id is not null as live, k.id is null as gone"
        " from sighting_succession s left join live_actions a on a.id = s.action_id"
        " left join known_sightings k on k.identifier = s.new order by s.old, s.new"
    ):
        if row["live"]:
            before.setdefault(row["new"], []).append(row["old"])
        elif row["gone"]:
            before.setdefault(row["old"], []).append(row["new"])
    found: dict[str, list[str]] = {}
    for new in before:
        todo, seen = list(before[new]), []
        while todo:
            one = todo.pop(0)
            if one not in seen and one != new:
                seen.append(one)
                todo += before.get(one, [])
        found[new] = seen
    return found


def add_members(survey: Survey, identifier: str, members: Sequence[Member], *, action: int) -> None:
    """Append photos to a frozen sighting, after a person merged them in."""
    row = survey.connection.execute(
        "select id from sightings where identifier = ?", (identifier,)
    ).fetchone()
    _save_members(survey, row[0], members, start=1000, action=action)


def propose_change(survey: Survey, sighting: str, change: str) -> None:
    """Note what would change on a frozen sighting if it were not frozen."""
    survey.connection.execute(
        "insert or ignore into proposed_changes values (?, ?)", (sighting, change)
    )


def clear_proposed_changes(survey: Survey, sightings: Iterable[str]) -> None:
    """Forget the proposed changes of these sightings before they are computed anew."""
    survey.connection.executemany(
        "delete from proposed_changes where sighting = ?", [(one,) for one in sightings]
    )


def proposed_changes(survey: Survey) -> list[sqlite3.Row]:
    """What would change on frozen sightings."""
    return survey.connection.execute(
        "select * from proposed_changes order by sighting, change"
    ).fetchall()


def add_edit(survey: Survey, edit: Edit, *, action: int) -> None:
    """Append what a person said about which photos show one animal."""
    survey.connection.execute(
        "insert into sighting_edits (kind, members, action_id) values (?, ?, ?)",
        (edit.kind, json.dumps(edit.members), action),
    )


def edits(survey: Survey) -> list[Edit]:
    """Live edits in the order they were made."""
    rows = survey.connection.execute(
        "select e.* from sighting_edits e join live_actions a on a.id = e.action_id order by e.id"
    )
    return [
        Edit(kind=row["kind"], members=tuple((p, n) for p, n in json.loads(row["members"])))
        for row in rows
    ]


def add_state(survey: Survey, sighting: str, state: str, reason: str, *, action: int) -> None:
    """Append that a coordinator set a sighting aside, or back into the queue."""
    survey.connection.execute(
        "insert into sighting_states (sighting, state, reason, action_id) values (?, ?, ?, ?)",
        (sighting, state, reason, action),
    )


def states(survey: Survey) -> dict[str, tuple[str, str]]:
    """By sighting: the newest live state set by hand, with its reason."""
    rows = survey.connection.execute(
        "select s.* from sighting_states s join live_actions a on a.id = s.action_id order by s.id"
    )
    return {row["sighting"]: (row["state"], row["reason"]) for row in rows}


def add_determination(
    survey: Survey, determination: Determination, *, person: int, action: int
) -> None:
    """Append a determination."""
    d = determination
    survey.connection.execute(
        "insert into determinations (identifier, sighting, outcome, scientific_name, taxon_rank,"
        " qualifier, sex, life_stage, behavior, reason, remarks, person_id, date_identified,"
        " second_opinion, photos, action_id)"
        " values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (
            d.identifier,
            d.sighting,
            d.outcome,
            d.scientific_name,
            d.taxon_rank,
            d.qualifier,
            d.sex,
            d.life_stage,
            d.behavior,
            d.reason,
            d.remarks,
            person,
            d.date_identified,
            int(d.second_opinion),
            json.dumps(d.photos),
            action,
        ),
    )


def determinations(
    survey: Survey, sighting: str | None = None, *, taken_back: bool = False
) -> list[Determination]:
    """Live determinations of one sighting or of all, by date; ``identified_by`` is a code.

    With ``taken_back`` also those that were undone.
    """
    live = "1" if taken_back else "d.action_id in (select id from live_actions)"
    where = "d.sighting = ?" if sighting else "? is null"
    rows = survey.connection.execute(
        "select d.*, p.code from determinations d join people p on p.id = d.person_id"
        f" where {live} and {where} order by d.date_identified, d.id",
        (sighting,),
    )
    return [
        Determination(
            identifier=row["identifier"],
            sighting=row["sighting"],
            outcome=row["outcome"],
            scientific_name=row["scientific_name"],
            taxon_rank=row["taxon_rank"],
            qualifier=row["qualifier"],
            sex=row["sex"],
            life_stage=row["life_stage"],
            behavior=row["behavior"],
            reason=row["reason"],
            remarks=row["remarks"],
            identified_by=row["code"],
            date_identified=row["date_identified"],
            second_opinion=bool(row["second_opinion"]),
            photos=tuple(json.loads(row["photos"])),
        )
        for row in rows
    ]


def note_export(survey: Survey, sighting: str, *, now: datetime) -> None:
    """Note that a sighting has been exported: its identifier is out in the world."""
    survey.connection.execute(
        "insert or ignore into exports values (?, ?)", (sighting, utc_text(now))
    )


def add_learned(survey: Survey, kind: str, content: bytes, report: str, *, action: int) -> None:
    """Append what was learned from this survey (heads or usability), with its figures."""
    survey.connection.execute(
        "insert into learned (kind, content, report, action_id) values (?, ?, ?, ?)",
        (kind, content, report, action),
    )


def newest_learned(survey: Survey, kind: str) -> bytes | None:
    """The newest of its kind that was not taken back."""
    row = survey.connection.execute(
        "select l.content from learned l join live_actions a on a.id = l.action_id"
        " where l.kind = ? order by l.id desc limit 1",
        (kind,),
    ).fetchone()
    return row[0] if row else None


def _save_members(
    survey: Survey,
    row: int,
    members: Sequence[Member],
    *,
    start: int = 0,
    action: int | None = None,
) -> None:
    survey.connection.executemany(
        "insert or replace into sighting_photos (sighting_id, photo, animal, position, action_id)"
        " values (?, ?, ?, ?, ?)",
        [
            (row, photo, animal, place, action)
            for place, (photo, animal) in enumerate(members, start)
        ],
    )


def _load(survey: Survey, query: str, values: Sequence[object]) -> list[SightingRow]:
    rows = survey.connection.execute(query, values).fetchall()
    if not rows:
        return []
    members: dict[int, list[Member]] = {row["id"]: [] for row in rows}
    for portion in portions(members):
        marks = ",".join("?" * len(portion))
        for row in survey.connection.execute(
            f"select * from sighting_photos where sighting_id in ({marks}) and"
            " (action_id is null or action_id in (select id from live_actions))"
            " order by sighting_id, position",
            portion,
        ):
            members[row["sighting_id"]].append((row["photo"], row["animal"]))
    return [
        SightingRow(
            identifier=row["identifier"],
            observer=row["observer_id"],
            event_date=row["event_date"],
            decimal_latitude=row["decimal_latitude"],
            decimal_longitude=row["decimal_longitude"],
            coordinate_uncertainty_in_meters=row["coordinate_uncertainty_in_meters"],
            location_id=row["location_id"],
            locality=row["locality"],
            georeference_protocol=row["georeference_protocol"],
            place_source=row["place_source"],
            time_source=row["time_source"],
            suborder=row["suborder"],
            best_dorsal=row["best_dorsal"],
            best_lateral=row["best_lateral"],
            first_received=row["first_received"],
            frozen_at=row["frozen_at"] or "",
            superseded_by=row["superseded_by"] or "",
            members=tuple(members[row["id"]]),
        )
        for row in rows
    ]
