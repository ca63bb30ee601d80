"""The canonical dump: every table stands in it, or its absence has a reason."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from triage.store.connection import create_survey, open_survey
from triage.store.dump import QUERIES, canonical_dump

LEFT_OUT = {
    "actions": "times and names of those who worked; what they did shows in the rows it caused",
    "addresses": "stand for people in every other query",
    "people": "codes are drawn; names and addresses stand in every other query",
    "failures": "when and what failed on this machine",
    "imap_positions": "where reading stands on a server",
    "notes": "what the program remembers between runs",
    "questions": "drafts carry dates; a question shows as a state, its answer as claims",
    "camera_corrections": "show as the times that they correct",
    "sighting_edits": "show as the sightings that they make",
    "sighting_states": "by hand; the queue shows them",
    "sighting_succession": "shows as superseded_by",
    "message_states": "a log; what it comes to stands on the message",
    "exports": "times of exports",
    "learned": "bytes of a model; show as the method of measurements",
}


@pytest.fixture
def survey(tmp_path: Path):
    create_survey(tmp_path / "survey")
    with open_survey(tmp_path / "survey") as opened:
        yield opened


def test_every_table_is_dumped_or_left_out_for_a_reason(survey):
    rows = survey.connection.execute(
        "select name from sqlite_master where type = 'table' and name not like '%sqlite%'"
    )
    text = " ".join(QUERIES.values())
    dumped = set(re.findall(r"(?:from|join) (\w+)", text)) | {"sightings"}
    tables = {row["name"] for row in rows}
    # Addresses, people and actions are joined to name persons and to see what still holds.
    assert tables - dumped <= LEFT_OUT.keys()
    assert LEFT_OUT.keys() <= tables
    assert tables & dumped | LEFT_OUT.keys() == tables


def test_no_query_names_a_local_number_or_a_clock_of_the_survey(survey):
    for name, query in QUERIES.items():
        columns = {x[0] for x in survey.connection.execute(query + " limit 0").description}
        assert not columns & {"id", "action_id", "person_id", "taken_in_at", "at", "code"}, name


def test_the_dump_does_not_depend_on_the_order_of_rows(survey):
    rows = [("i", "Aeshna", 1.0), ("i", "Libellula", 2.5)]
    dumps = []
    for ordered in (rows, rows[::-1]):
        survey.connection.execute("delete from taxon_scores")
        survey.connection.executemany("insert into taxon_scores values (?, ?, ?)", ordered)
        dumps.append(list(canonical_dump(survey)))
    assert dumps[0] == dumps[1]
    assert "i\tAeshna\t1" in dumps[0]


def test_a_text_of_several_lines_stays_one_line(survey):
    survey.connection.execute("insert into taxon_scores values ('a\tb\nc\\', 'Aeshna', 1.0)")
    assert "a\\tb\\nc\\\\\tAeshna\t1" in list(canonical_dump(survey))
