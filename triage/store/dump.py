"""Write a survey as text that two surveys share exactly when they say the same: its canonical dump.

Every column of every table stands in it but those in :data:`LEFT_OUT` and :data:`WHOLE_TABLES`. Row
numbers are replaced by what they point at (a person by address and name, a part by message and
path, an action by who did what), so that neither the order of work nor the machine shows; rows of
actions that were taken back are left out.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Mapping

from triage.standards.digests import digest_of
from triage.store.connection import Survey

_CLOCK = "a clock time of the survey's own work"
_DRAWN = "drawn at random"
_HOST = "a fact of this machine"
_LAST_BITS = "the last bits of long sums differ between processors; what rests on them is dumped"
_LATER = "brought up to date when it is looked at, from what is dumped"
_LOCAL = "holds a local row number"

LEFT_OUT: Mapping[tuple[str, str], str] = {
    ("actions", "at"): _CLOCK,
    ("determinations", "date_identified"): _CLOCK + "; their order is dumped",
    ("determinations", "identifier"): _LOCAL + ", that of its action",
    ("exports", "first_exported_at"): _CLOCK,
    ("failures", "at"): _CLOCK,
    ("letters", "made_at"): _CLOCK,
    ("measurements", "features"): _LAST_BITS,
    ("message_states", "at"): _CLOCK,
    ("joins", "gone_code"): _DRAWN,
    ("joins", "gone_id"): _LOCAL,
    ("joins", "moved"): _LOCAL + "s of what changed hands",
    ("statements", "stands"): _LOCAL + "'s digest, compared with what stands",
    ("messages", "origin"): _HOST + ": where the mail lay",
    ("messages", "raw_name"): _HOST + ": where the mail lay",
    ("messages", "taken_in_at"): _CLOCK,
    ("pack_photos", "made_at"): _CLOCK,
    ("pack_photos", "pack"): _HOST + ": where a photo pack was written",
    ("people", "code"): _DRAWN,
    ("photos", "local_features"): _LAST_BITS,
    ("photos", "linked_sender"): _LOCAL + ", that of the sender",
    ("photos", "partition"): _LOCAL + ", that of the observer",
}
"""Columns that two equal surveys may differ in, each with its reason; besides row numbers."""

WHOLE_TABLES: Mapping[str, str] = {
    "imap_positions": _HOST + ": where reading stands on a server",
    "leases": _HOST + ": which browser has a sighting in hand",
    **dict.fromkeys(("queue_order", "queue_due", "matches_due", "derived_rules"), _LATER),
    "photo_sketches": "a part of photos.local_features, kept as linking first needs it",
    **dict.fromkeys(("site_adults", "site_adults_due", "ground_changes", "holdings"), _LATER),
}
"""Tables that two equal surveys may differ in altogether."""

NOT_OF_THE_SURVEY = {
    "notes": (
        "name not like 'tally of %' and name not like 'unfinished folder %'"
        " and name <> 'newest backup'",
        "digests of rows with their clock times and numbers; facts of this machine and its clock",
    ),
}
"""Rows that no dump shows: the condition that the others meet, and the reason."""

_MOMENTS = (("people", "forgotten_at"), ("sightings", "frozen_at"))  # shown as whether, not when
_ROUNDED = {"measurements": 4, "sightings": 7}  # decimals
_DERIVED_LOG = "message_states"  # what it comes to stands on the message: only what people set

# Where the newest of several statements counts, its place among them belongs to what is said.
_IN_ORDER = {
    "determinations": "row_number() over (partition by sighting order by date_identified, id)",
    "corrections": "row_number() over (partition by photo, field order by id)",
    "sighting_states": "row_number() over (partition by sighting order by id)",
    "sighting_edits": "row_number() over (order by id)",
}


def canonical_dump(survey: Survey) -> Iterator[str]:
    """One line a row, tables by name, rows sorted as text."""
    names = _names(survey.connection)
    for table in tables(survey.connection):
        if table in WHOLE_TABLES:
            continue
        rows = sorted(_rows(survey.connection, table, names))
        yield f"# {table} ({len(rows)})"
        yield from rows


def tables(connection: sqlite3.Connection) -> list[str]:
    """The survey's own tables, by name."""
    rows = connection.execute(
        "select name from sqlite_master where type = 'table' and name not like '%sqlite%'"
    )
    return sorted(row[0] for row in rows)


def _names(connection: sqlite3.Connection) -> dict[str, dict[int, str]]:
    """By table and row number: what a row is called where another row points at it."""
    queries = {
        "people": "select p.id, coalesce(group_concat(address, ' '), '') || ' ' || name,"
        " code from people p left join (select * from addresses order by address) a"
        " on a.person_id = p.id group by p.id",
        "messages": "select id, identifier, '' from messages",
        "parts": "select p.id, m.identifier || ' ' || p.path, '' from parts p"
        " join messages m on m.id = p.message_id",
        "sightings": "select id, identifier, '' from known_sightings",
        "actions": "select id, by_name || ' ' || command || ' ' || summary, '' from live_actions",
    }
    # Nothing but the code is left of a person who was forgotten.
    return {
        table: {row[0]: row[1].strip() or row[2] for row in connection.execute(query)}
        for table, query in queries.items()
    }


def _rows(
    connection: sqlite3.Connection, table: str, names: Mapping[str, Mapping[int, str]]
) -> Iterator[str]:
    targets = {
        row["from"]: row["table"]
        for row in connection.execute(f"pragma foreign_key_list({table})")
        if row["to"] == "id" and row["table"] in names
    }
    order = _IN_ORDER.get(table, "''")
    where = "where id in (select id from live_actions)" if table == "actions" else ""
    if "action_id" in targets:
        null = "" if table == _DERIVED_LOG else "action_id is null or "
        where = f"where ({null}action_id in (select id from live_actions))"
    if table in NOT_OF_THE_SURVEY:
        where = f"where {NOT_OF_THE_SURVEY[table][0]}"
    if "sighting_id" in targets:  # of a sighting whose making was taken back nothing stands
        where += " and sighting_id in (select id from known_sightings)"
    for row in connection.execute(f"select *, {order} as in_order from {table} {where}"):
        cells = []
        for column in row.keys():  # noqa: SIM118 - a row iterates over its values
            if column == "id" or (table, column) in LEFT_OUT:
                continue
            value = row[column]
            if column in targets and value is not None:
                value = names[targets[column]].get(value, "missing")
            elif (table, column) in _MOMENTS:
                value = value is not None
            cells.append(_text(value, _ROUNDED.get(table)))
        yield "\t".join(cells)


def _text(value: object, decimals: int | None) -> str:
    if value is None:
        return ""
    if isinstance(value, bytes):
        return digest_of(value)
    if isinstance(value, float):
        return f"{value if decimals is None else round(value, decimals):.7g}"
    text = str(value)
    return text.replace("\\", "\\\\").replace("\t", "\\t").replace("\n", "\\n").replace("\r", "\\r")
