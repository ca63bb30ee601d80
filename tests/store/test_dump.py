"""The canonical dump: a change of any column of any table is seen, or has a reason not to be."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from triage.store.connection import create_survey, open_survey
from triage.store.dump import LEFT_OUT, NOT_OF_THE_SURVEY, canonical_dump, tables

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


@pytest.fixture
def survey(tmp_path: Path):
    create_survey(tmp_path / "survey")
    with open_survey(tmp_path / "survey") as opened:
        opened.connection.execute("pragma foreign_keys = off")
        yield opened


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


def test_every_column_is_dumped_or_left_out_for_a_reason(survey):
    fill(survey)
    before = list(canonical_dump(survey))
    blind = set()
    for table in tables(survey.connection):
        for column in columns(survey, table):
            name = column["name"]
            if name == "id":
                continue
            survey.connection.execute("savepoint one")
            also = f", {TOGETHER[table, name]}" if (table, name) in TOGETHER else ""
            which = "where id = 1" if any(c["name"] == "id" for c in columns(survey, table)) else ""
            survey.connection.execute("pragma ignore_check_constraints = on")
            survey.connection.execute(
                f"update {table} set {name} = ?{also} {which}",
                (values(table, column)[1],),
            )
            if list(canonical_dump(survey)) == before:
                blind.add((table, name))
            survey.connection.execute("rollback to one")
            survey.connection.execute("release one")
    assert blind == set(LEFT_OUT)
    assert all(LEFT_OUT.values())


def test_a_statement_given_to_another_person_is_seen(survey):
    fill(survey)
    before = list(canonical_dump(survey))
    for table in ("consents", "determinations"):
        survey.connection.execute("savepoint one")
        survey.connection.execute(f"update {table} set person_id = 2")
        assert list(canonical_dump(survey)) != before, table
        survey.connection.execute("rollback to one")


def test_two_people_of_one_name_are_told_apart_by_address(survey):
    run = survey.connection.execute
    run("insert into people (id, code, name) values (1, 'P-1', 'Ida'), (2, 'P-2', 'Ida')")
    run("insert into addresses values ('a@example.org', 1), ('b@example.org', 2)")
    dumps = []
    for person in (1, 2):
        run("delete from envelopes")
        run("insert into envelopes values (1, 0, ?, '', '', '', '')", (person,))
        dumps.append(list(canonical_dump(survey)))
    assert dumps[0] != dumps[1]


def test_what_was_taken_back_is_not_in_the_dump(survey):
    fill(survey)
    before = list(canonical_dump(survey))
    run = survey.connection.execute
    run("insert into actions values (3, '', 'Una', 'correct', 'view', null, 1)")
    run("insert into corrections values (9, 'x', 'view', 'lateral', 3)")
    assert list(canonical_dump(survey)) != before
    run("insert into actions values (4, '', 'Una', 'undo', 'view', 3, 1)")
    run("update actions set live = 0 where id = 3")
    assert list(canonical_dump(survey)) == before


def test_of_two_determinations_the_later_one_shows(survey):
    fill(survey)
    run = survey.connection.execute
    row = dict(run("select * from determinations").fetchone())
    dumps = []
    for order in ((5, 6), (6, 5)):
        run("delete from determinations")
        for number, name in zip(order, ("Aeshna mixta", "Aeshna grandis"), strict=True):
            insert(
                survey,
                "determinations",
                row | {"id": number, "identifier": str(number), "scientific_name": name},
            )
        dumps.append(list(canonical_dump(survey)))
    assert dumps[0] != dumps[1]


def test_the_dump_does_not_depend_on_the_order_of_rows(survey):
    rows = [("i", "Aeshna", 1.0), ("i", "Libellula", 2.5)]
    dumps = []
    for ordered in (rows, rows[::-1]):
        survey.connection.execute("delete from taxon_scores")
        survey.connection.executemany("insert into taxon_scores values (?, ?, ?)", ordered)
        dumps.append(list(canonical_dump(survey)))
    assert dumps[0] == dumps[1]
    assert any(line.startswith("i\tAeshna\t1") for line in dumps[0])


def test_a_text_of_several_lines_stays_one_line(survey):
    survey.connection.execute("insert into taxon_scores values ('a\tb\nc\\', 'Aeshna', 1.0)")
    assert any(line.startswith("a\\tb\\nc\\\\\tAeshna\t1") for line in canonical_dump(survey))


def test_only_tallies_are_rows_that_no_dump_shows(survey):
    assert set(NOT_OF_THE_SURVEY) == {"notes"}
    before = list(canonical_dump(survey))
    run = survey.connection.execute
    run("insert into notes values ('tally of actions', '{}')")
    assert list(canonical_dump(survey)) == before
    run("insert into notes values ('grouping', 'rules')")
    assert list(canonical_dump(survey)) != before
