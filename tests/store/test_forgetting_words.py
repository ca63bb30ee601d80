"""A person forgotten: no text of any table names them any longer, whatever it holds."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from rows_of_every_table import columns, fill
from tests_support import NOW

from triage.store import forgetting, people
from triage.store.connection import Survey, create_survey, open_survey
from triage.store.dump import tables

NAME, ADDRESS, CODE = "Ida Brenn", "ida@example.org", "P-IDA"
NEVER_WORDS = frozenset(forgetting._KEYS)


@pytest.fixture
def filled(tmp_path: Path) -> Iterator[Survey]:
    """A survey with a row in every table, whose first person has a name and an address."""
    create_survey(tmp_path / "survey")
    with open_survey(tmp_path / "survey") as survey:
        run = survey.connection.execute
        run("pragma foreign_keys = off")
        run("pragma ignore_check_constraints = on")
        fill(survey)
        run("update people set name = ?, code = ? where id = 1", (NAME, CODE))
        run("update people set name = 'Bo Lind' where id = 2")
        run("update messages set sent_at = '', received_at = ''")
        run("update actions set at = ''")
        run("delete from addresses")
        run("insert into addresses (address, person_id) values (?, 1)", (ADDRESS,))
        yield survey


def texts(survey: Survey) -> dict[tuple[str, str], str]:
    """All that stands in each column of text, but where only names of rows and files do."""
    return {
        (table, column["name"]): "\n".join(
            str(row[0])
            for row in survey.connection.execute(f"select {column['name']} from {table}")
        )
        for table in tables(survey.connection)
        for column in columns(survey, table)
        if column["type"].lower() == "text" and column["name"] not in NEVER_WORDS
    }


@pytest.mark.parametrize("words", [NAME, "IDA  BRENN", ADDRESS, "Ida@Example.org"])
def test_no_column_keeps_a_name_or_an_address(filled: Survey, words: str):
    person = people.find(filled, ADDRESS)
    for table, column in texts(filled):
        if (table, column) in {("addresses", "address"), ("people", "name")}:
            continue
        filled.connection.execute("savepoint one")
        key = ", ".join(one["name"] for one in columns(filled, table) if one["pk"])
        filled.connection.execute(
            f"update {table} set {column} = ? where ({key}) = (select {key} from {table} limit 1)",
            (f'["seen by {words}, of the mill"]',),
        )
        people.forget(filled, person, now=NOW)
        for where, text in texts(filled).items():
            assert words.casefold() not in text.casefold(), (table, column, where)
        filled.connection.execute("rollback to one")


@pytest.mark.parametrize(
    "words", ["Ida Brennan", "Frida Brenn", "xida@example.org", "Brenn", "Ida"]
)
def test_a_longer_name_and_a_single_word_stay(filled: Survey, words: str):
    filled.connection.execute("update actions set summary = ?", (f"asked {words}.",))
    people.forget(filled, people.find(filled, CODE), now=NOW)
    assert f"asked {words}." in texts(filled)["actions", "summary"]


def test_the_code_stands_where_the_name_stood(filled: Survey):
    filled.connection.execute("update actions set summary = ?", (f"{NAME} ({ADDRESS}) was asked",))
    people.forget(filled, people.find(filled, CODE), now=NOW)
    assert f"{CODE} ({CODE}) was asked" in texts(filled)["actions", "summary"]
    assert texts(filled)["people", "name"].split("\n") == ["", "Bo Lind"]


# What the row of a dropped photo keeps: its name, that it was forgotten, and what is done with it.
KEPT = frozenset(
    ("sha256", "format", "problem", "examined_with", "linked_with", "grouped_with", "partition")
)


def test_of_a_dropped_photo_no_column_keeps_what_was_read_or_who_sent_it(filled: Survey):
    (photo,) = filled.column("select sha256 from photos")
    for column in columns(filled, "photos"):
        if column["name"] not in KEPT:
            sign = {"integer": 7, "text": '["7"]', "blob": b"7"}[column["type"].lower()]
            filled.run(f"update photos set {column['name']} = ?", sign)
    forgetting.drop(filled, [photo])
    (row,) = filled.run("select * from photos")
    assert row["problem"] == forgetting.FORGOTTEN
    left = {name: row[name] for name in row.keys() if name not in KEPT}  # noqa: SIM118
    assert [name for name, value in left.items() if value not in (None, 0, "", b"", "{}")] == []
    assert "linked_sender" in left
