"""The canonical dump: a change of any column of any table is seen, or has a reason not to be."""

from __future__ import annotations

from pathlib import Path

import pytest
from rows_of_every_table import TOGETHER, columns, fill, insert, values

from triage.store.connection import create_survey, open_survey
from triage.store.dump import (
    LEFT_OUT,
    NOT_OF_THE_SURVEY,
    WHOLE_TABLES,
    canonical_dump,
    tables,
)


@pytest.fixture
def survey(tmp_path: Path):
    create_survey(tmp_path / "survey")
    with open_survey(tmp_path / "survey") as opened:
        opened.connection.execute("pragma foreign_keys = off")
        yield opened


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
    whole = {(table, column["name"]) for table in WHOLE_TABLES for column in columns(survey, table)}
    assert blind == set(LEFT_OUT) | {one for one in whole if one[1] != "id"}
    assert all((*LEFT_OUT.values(), *WHOLE_TABLES.values()))


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
