"""A row in every table of a survey, whose checks hold; and another value for each column."""

from __future__ import annotations

from typing import Any

from triage.store.dump import tables

# What a column holds in every table, and what it is changed to; else a text or a number.
VALUES: dict[str, tuple[Any, Any]] = {
    "action_id": (1, 2),
    "person_id": (1, 2),
    "sender_id": (1, 2),
    "observer_id": (1, 2),
    "message_id": (1, 2),
    "part_id": (1, 2),
    "sighting_id": (1, 2),
    "answered_by": (None, 2),
    "undoes": (None, 2),
    "live": (1, 0),
    "state": ("set aside", "queued"),
    "publish": ("yes", "no"),
    "name_shown": ("yes", "no"),
    "automatic": ("", "bounce"),
    "suborder": ("anisoptera", "zygoptera"),
    "first_day": ("2026-07-01", "2026-06-30"),
    "last_day": ("2026-07-02", "2026-07-03"),
    "season_first": (100, 101),
    "season_last": (200, 201),
    "individual_count": (1, 2),
    "passes": (1, 2),
    "taxon_agreement": ("same", "unknown"),
    "forgotten_at": (None, "2026-07-01T00:00:00Z"),
    "frozen_at": (None, "2026-07-01T00:00:00Z"),
    "orientation": (1, 8),
}
OF_TABLE: dict[tuple[str, str], tuple[Any, Any]] = {
    ("corrections", "field"): ("view", "box"),
    ("determinations", "outcome"): ("determined", "not an adult"),
    ("learned", "kind"): ("heads", "usability"),
    ("letters", "kind"): ("thanks", "season"),
    ("message_states", "state"): ("open", "settled"),
    ("messages", "state"): ("open", "settled"),
    ("parts", "outcome"): ("taken in", "kept, not examined"),
    ("photo_groups", "kind"): ("copy", "burst"),
    ("photo_links", "kind"): ("copy", "burst"),
    ("sighting_edits", "kind"): ("split", "merge"),
}
# Columns that a check binds to another one are changed together with it.
TOGETHER = {("determinations", "outcome"): "scientific_name = ''"}
# Of second rows that others point at: what tells them from the first.
SECOND_ROWS: dict[str, dict[str, Any]] = {
    "people": {"code": "P-2", "name": "Ida Brenn"},
    "messages": {"identifier": "second"},
    "parts": {"path": "2"},
    "sightings": {"identifier": "second"},
    "actions": {"by_name": "Ida Brenn"},
}


def columns(survey, table: str) -> list[dict[str, Any]]:
    return [dict(row) for row in survey.connection.execute(f"pragma table_info({table})")]


def values(table: str, column: dict[str, Any]) -> tuple[Any, Any]:
    """A first and another value that the column's checks allow."""
    name, kind = column["name"], column["type"].lower()
    if (table, name) in OF_TABLE:
        return OF_TABLE[table, name]
    if name in VALUES:
        return VALUES[name]
    if "sha256" in name:
        return "a" * 64, "b" * 64
    return {"integer": (0, 1), "real": (0.25, 0.75), "blob": (b"a", b"b")}.get(kind, ("[]", "{}"))


def fill(survey) -> None:
    """One row in every table, two where others point at them; no trigger adds others."""
    for (name,) in survey.connection.execute(
        "select name from sqlite_master where type = 'trigger'"
    ).fetchall():
        survey.connection.execute(f"drop trigger {name}")
    for table in tables(survey.connection):
        row = {c["name"]: values(table, c)[0] for c in columns(survey, table)}
        insert(survey, table, row | ({"id": 1} if "id" in row else {}))
        if table in SECOND_ROWS:
            insert(survey, table, row | SECOND_ROWS[table] | {"id": 2})


def insert(survey, table: str, row: dict[str, Any]) -> None:
    marks = ", ".join("?" * len(row))
    survey.connection.execute(
        f"insert or replace into {table} ({', '.join(row)}) values ({marks})", list(row.values())
    )
