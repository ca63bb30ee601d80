"""Two people joined: whatever table says whose a row is, it is told apart again as it was."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from rows_of_every_table import columns, fill

from triage.errors import UnknownError
from triage.store import joins
from triage.store.connection import Survey, create_survey, open_survey

KEPT, GONE, ACTION = 1, 2, 77


@pytest.fixture
def filled(tmp_path: Path) -> Iterator[Survey]:
    """A survey with two people and a row in every table."""
    create_survey(tmp_path / "survey")
    with open_survey(tmp_path / "survey") as survey:
        survey.connection.execute("pragma foreign_keys = off")
        fill(survey)
        yield survey


def owners(survey: Survey, table: str, column: str) -> set[int | None]:
    return {row[0] for row in survey.connection.execute(f"select {column} from {table}")}


def own(survey: Survey, table: str, column: str, person: int) -> None:
    survey.connection.execute(f"update {table} set {column} = ?", (person,))


@pytest.mark.parametrize(("table", "column"), [one[:2] for one in joins.OWNED])
def test_a_row_of_either_goes_to_one_and_comes_back(filled: Survey, table: str, column: str):
    for owner in (KEPT, GONE):
        filled.connection.execute("savepoint one")
        own(filled, table, column, owner)
        joins.record(filled, KEPT, GONE, action=ACTION)
        assert owners(filled, table, column) == {KEPT}
        assert joins.part(filled, ACTION) == {KEPT, GONE}
        told_apart = owners(filled, table, column)
        assert owner in told_apart if table == "joins" else told_apart == {owner}
        joins.join_again(filled, ACTION)
        assert owners(filled, table, column) == {KEPT}
        filled.connection.execute("rollback to one")


def test_every_column_that_names_a_person_is_given_over(filled: Survey):
    named = {
        (table, column["name"])
        for (table,) in filled.connection.execute(
            "select name from sqlite_master where type = 'table'"
        ).fetchall()
        for column in columns(filled, table)
        if column["name"] in ("person_id", "sender_id", "observer_id", "kept_id")
    }
    assert named == {one[:2] for one in joins.OWNED}


@pytest.mark.parametrize(
    ("kept", "gone", "joined"),
    [
        (("Ida", "0-1"), ("Bo", "0-2"), ("Ida", "0-1")),
        (("", ""), ("Bo", "0-2"), ("Bo", "0-2")),
        (("Ida", ""), ("", "0-2"), ("Ida", "0-2")),
    ],
)
def test_a_name_is_taken_over_where_there_was_none(filled: Survey, kept, gone, joined):
    run = filled.connection.execute
    for row, (name, orcid) in ((KEPT, kept), (GONE, gone)):
        run("update people set name = ?, orcid = ? where id = ?", (name, orcid, row))
    before = [tuple(row) for row in run("select * from people order by id")]
    joins.record(filled, KEPT, GONE, action=ACTION)
    assert [tuple(row) for row in run("select name, orcid from people")] == [joined]
    joins.part(filled, ACTION)
    assert [tuple(row) for row in run("select * from people order by id")] == before


def test_nobody_is_told_apart_once_one_was_forgotten(filled: Survey):
    joins.record(filled, KEPT, GONE, action=ACTION)
    joins.forget(filled, KEPT)
    for again in (joins.part, joins.join_again):
        with pytest.raises(UnknownError, match="forgotten"):
            again(filled, ACTION)


def test_an_action_that_joined_nobody_parts_nobody(filled: Survey):
    assert joins.part(filled, ACTION) == joins.join_again(filled, ACTION) == set()
