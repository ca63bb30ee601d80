"""Jars recorded, named anew and taken back: the database says each time what was said last."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests_support import NOW

from triage.errors import UnknownError
from triage.exuviae import Label, LabelLine
from triage.pipeline import jars, tables, undo
from triage.store import evidence, people
from triage.store.connection import Survey
from triage.store.dump import canonical_dump
from triage.store.evidence import history_of

LABEL = Label(
    site="Heron Mere",
    day="2026-06-13",
    collector="Nell Reedwater",
    number="EX-0900",
    effort="30 min, 50 m",
    lines=(LabelLine(name="Anax imperator", count="9"), LabelLine(name="Aeshna sp.", count="2")),
)


def record(survey: Survey, label: Label = LABEL) -> jars.Recorded:
    return jars.record_label(survey, label, by="Ada Moor", now=NOW)


def test_a_jar_is_one_action_and_taken_back_whole(survey: Survey):
    before = list(canonical_dump(survey))
    done = record(survey)
    assert done.problems == ()
    found, count = jars.page(survey, "EX-0900")
    assert count == 1
    assert [(lot.catalog_number, name.scientific_name) for lot, name in found[0].lots] == [
        ("EX-0900/1", "Anax imperator"),
        ("EX-0900/2", "Aeshna"),
    ]
    counted = {lot.catalog_number for lot in tables.counted_lots(survey)}
    assert {"EX-0900/1", "EX-0900/2"} <= counted
    taken = undo.undo(survey, by="Ada Moor", now=NOW)
    assert jars.page(survey, "EX-0900") == ([], 0)
    assert [x for x in canonical_dump(survey) if "EX-0900" in x and "row_history" not in x] == [
        x for x in before if "EX-0900" in x
    ]
    undo.undo(survey, by="Ada Moor", now=NOW, number=taken.number)
    assert jars.page(survey, "EX-0900")[1] == 1


def test_a_label_is_recorded_once(survey: Survey):
    record(survey)
    again = record(survey)
    assert [one.field for one in again.problems] == ["number"]
    other = record(survey, replace(LABEL, day="2026-06-14"))
    assert "EX-0900/1" in other.problems[0].reason
    assert jars.page(survey, "EX-0900")[1] == 1


def test_a_collectors_address_belongs_to_the_people_and_to_no_table(survey: Survey):
    record(survey, replace(LABEL, contact="nell@example.org"))
    [person] = [one for one in people.all_people(survey) if one.name == "Nell Reedwater"]
    assert person.addresses == ("nell@example.org",)
    assert not [v for v in evidence.visits(survey) if "nell@example.org" in repr(v)]


@pytest.mark.parametrize(
    ("contact", "collector", "field"),
    [("nell at example", "Nell", "contact"), ("nell@example.org", "", "collector")],
)
def test_an_address_must_be_one_and_somebodys(survey, contact, collector, field):
    done = record(survey, replace(LABEL, contact=contact, collector=collector))
    assert [one.field for one in done.problems] == [field]
    assert jars.page(survey, "EX-0900")[1] == 0


def test_a_lot_is_named_anew_with_its_history(survey: Survey):
    record(survey)
    done = jars.name_again(
        survey,
        "ex-0900/2",
        name="Aeshna cf. mixta",
        identified_by="Ida Kvist",
        by="Ada Moor",
        now=NOW,
    )
    assert done.problems == ()
    steps = history_of(survey, "EX-0900/2")
    assert [s.after["scientific_name"] for s in steps] == ["Aeshna sp.", "Aeshna cf. mixta"]
    assert steps[1].after["identified_by"] == "Ida Kvist"
    [counted] = [x for x in tables.counted_lots(survey) if x.catalog_number == "EX-0900/2"]
    assert (counted.scientific_name, counted.identification_qualifier) == ("Aeshna mixta", "cf.")
    undo.undo(survey, by="Ada Moor", now=NOW)
    assert jars.lot_of_number(survey, "EX-0900/2").scientific_name == "Aeshna sp."
    assert [s.holds for s in history_of(survey, "EX-0900/2")] == [True, False]


def test_an_unknown_name_is_offered_and_recorded_only_on_purpose(survey: Survey):
    record(survey)
    said = {"name": "Anax imperatr", "identified_by": "", "by": "Ada Moor", "now": NOW}
    done = jars.name_again(survey, "EX-0900/1", **said)
    assert "Anax imperator" in done.problems[0].near
    assert jars.name_again(survey, "EX-0900/1", **said, as_written=True).problems == ()
    assert "EX-0900/1" in {one.identifier for one in tables.unresolved_lots(survey)}
    with pytest.raises(UnknownError):
        jars.name_again(survey, "EX-none", **said)
