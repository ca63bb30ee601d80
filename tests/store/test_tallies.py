"""Tables that only grow in: whatever row is lost or rewritten by something else is told."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from rows_of_every_table import TOGETHER, columns, fill, insert, values

from triage.store import tallies
from triage.store.connection import Survey, create_survey, open_survey

TABLES = sorted(tallies.GROWING)


@pytest.fixture
def counted(tmp_path: Path) -> Iterator[Survey]:
    """A survey with a row in every table, all counted."""
    create_survey(tmp_path / "survey")
    with open_survey(tmp_path / "survey") as survey:
        survey.connection.execute("pragma foreign_keys = off")
        survey.connection.execute("pragma ignore_check_constraints = on")
        fill(survey)
        for table in TABLES:
            survey.connection.execute(f"update {table} set rowid = rowid + 10")
        tallies.note(survey.connection)
        yield survey


def test_nothing_is_told_while_nothing_is_lost(counted: Survey):
    assert tallies.losses(counted.connection) == []
    tallies.note(counted.connection)
    assert tallies.losses(counted.connection) == []


@pytest.mark.parametrize("table", TABLES)
def test_a_row_lost_is_told_of_its_table_alone(counted: Survey, table: str):
    rows = counted.connection.execute(f"select count(*) from {table}").fetchone()[0]
    counted.connection.execute(
        f"delete from {table} where rowid = (select max(rowid) from {table})"
    )
    [told] = tallies.losses(counted.connection)
    assert told == f"database: 1 of {rows} {table} are missing"


@pytest.mark.parametrize("table", TABLES)
def test_each_counted_column_that_is_rewritten_is_told(counted: Survey, table: str):
    for column in columns(counted, table):
        name = column["name"]
        if name not in tallies.GROWING[table].split(", ") or name == "id":
            continue
        counted.connection.execute("savepoint one")
        also = f", {TOGETHER[table, name]}" if (table, name) in TOGETHER else ""
        counted.connection.execute(
            f"update {table} set {name} = ?{also} where rowid = (select min(rowid) from {table})",
            (values(table, column)[1],),
        )
        [told] = tallies.losses(counted.connection)
        assert told == f"database: {table} were changed by something other than this program", name
        counted.connection.execute("rollback to one")


def test_rows_that_come_later_join_those_counted(counted: Survey):
    run = counted.connection.execute
    row = dict(run("select * from actions order by id").fetchone())
    for number in (50, 51):
        insert(counted, "actions", row | {"id": number})
        assert tallies.losses(counted.connection) == []
        tallies.note(counted.connection)
    run("delete from actions where id = 50")
    [told] = tallies.losses(counted.connection)
    assert "1 of 4 actions are missing" in told
    insert(counted, "actions", row | {"id": 50})
    assert tallies.losses(counted.connection) == []
