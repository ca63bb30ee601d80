"""A label as typed: its visit and lots, or what cannot be used and what may be meant."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.checklist import Checklist, Taxon
from triage.exuviae import Label, LabelLine, Site, Visit, read_label, sites_called
from triage.exuviae.labels import lot_numbers, near_sites

TODAY = date(2026, 9, 1)
SITES = (
    Site(
        location_id="LNT-01",
        locality="Heron Mere",
        aliases=("the Mere",),
        decimal_latitude=53.9,
        decimal_longitude=21.7,
        coordinate_uncertainty_in_meters=100,
    ),
    Site(
        location_id="LNT-02",
        locality="Alder Pool",
        decimal_latitude=53.91,
        decimal_longitude=21.71,
        coordinate_uncertainty_in_meters=40,
    ),
)
LISTED = Checklist(
    [
        Taxon(scientific_name="Aeshna", rank="genus"),
        Taxon(scientific_name="Aeshna mixta", rank="species"),
        Taxon(scientific_name="Anax imperator", rank="species"),
    ]
)
LABEL = Label(
    site="the mere",
    day="2026-06-13",
    collector="Ruth Fenner",
    number="EX-7",
    passes="2",
    lines=(
        LabelLine(name="Anax imperator", count="9"),
        LabelLine(name="Aeshna cf. mixta", count="2"),
    ),
)


def read(label: Label):
    return read_label(label, SITES, LISTED, today=TODAY)


def test_a_label_gives_its_visit_and_a_lot_for_each_taxon():
    found = read(LABEL)
    assert found.problems == ()
    assert found.visit is not None
    assert (found.visit.location_id, found.visit.passes) == ("LNT-01", 2)
    assert [lot.catalog_number for lot in found.lots] == ["EX-7/1", "EX-7/2"]
    assert {lot.event_id for lot in found.lots} == {found.visit.event_id}
    assert found.lots[1].scientific_name == "Aeshna cf. mixta"  # the doubt is kept as written


def test_a_visit_that_found_nothing_is_a_visit_without_lots():
    found = read(replace(LABEL, number="", lines=()))
    assert found.visit is not None
    assert found.lots == ()


@pytest.mark.parametrize(
    ("changed", "field", "near"),
    [
        ({"site": "Heron Meer"}, "site", ("Heron Mere",)),
        ({"site": ""}, "site", ()),
        ({"day": "2026-09-02"}, "day", ()),
        ({"day": ""}, "day", ()),
        ({"until": "2026-06-01"}, "day", ()),
        ({"passes": "none"}, "passes", ()),
        ({"lines": ()}, "number", ()),
        (
            {"lines": (LabelLine(name="Aesna mixta", count="1"),)},
            "name",
            ("Aeshna mixta", "Aeshna"),
        ),
        ({"lines": (LabelLine(name="Anax imperator", count="-1"),)}, "count", ()),
        ({"lines": (LabelLine(name="Anax imperator"),)}, "count", ()),
        ({"lines": (LabelLine(name="", count="4"),)}, "name", ()),
    ],
)
def test_what_cannot_be_used_is_named_and_nothing_is_made(changed, field, near):
    found = read(replace(LABEL, **changed))
    assert found.visit is None
    assert found.lots == ()
    assert [one.field for one in found.problems] == [field]
    assert found.problems[0].near == near
    assert found.problems[0].reason


def test_a_name_may_be_kept_as_written_and_needs_no_checklist():
    line = LabelLine(name="Aesna mixta", count="1", as_written=True)
    assert read(replace(LABEL, lines=(line,))).lots[0].scientific_name == "Aesna mixta"
    plain = LabelLine(name="Aeshna juncea", count="1")
    bare = read_label(replace(LABEL, lines=(plain,)), SITES, Checklist([]), today=TODAY)
    assert bare.problems == ()


def test_the_same_label_is_the_same_visit_and_another_jar_another():
    first, again = read(LABEL).visit, read(replace(LABEL, collector=" ruth  fenner")).visit
    other = read(replace(LABEL, number="EX-8")).visit
    assert first
    assert again
    assert other
    assert first.event_id == again.event_id != other.event_id


@given(st.text(max_size=30), st.integers(min_value=1, max_value=9))
def test_lots_of_one_jar_never_share_a_number(number: str, count: int):
    assert len(set(lot_numbers(number, "J-1", count))) == count


@given(st.text(max_size=60))
def test_any_words_are_a_site_or_have_a_reason(words: str):
    found = read(replace(LABEL, site=words))
    assert (found.visit is None) == (len(sites_called(words, SITES)) != 1)
    assert set(near_sites(words, SITES)) <= {"Heron Mere", "Alder Pool"}


def test_every_field_of_the_label_is_in_its_visit_or_its_lots():
    whole = replace(
        LABEL,
        until=" 2026-06-14 ",
        protocol=" both banks ",
        effort="2 h",
        permit="P 12",
        remarks="after rain",
        identified_by="Ida  Kvist",
        lines=(LabelLine(name=" Aeshna mixta", count=" 1 ", sex="♀", remarks="four broken"),),
    )
    found = read(whole)
    assert found.problems == ()
    assert found.visit is not None
    assert replace(found.visit, event_id="") == Visit(
        event_id="",
        location_id="LNT-01",
        first_day="2026-06-13",
        last_day="2026-06-14",
        sampling_protocol="both banks",
        sampling_effort="2 h",
        recorded_by="Ruth Fenner",
        passes=2,
        permit="P 12",
        event_remarks="after rain",
    )
    (lot,) = found.lots
    assert (lot.catalog_number, lot.individual_count, lot.sex) == ("EX-7", 1, "female")
    assert (lot.recorded_by, lot.identified_by) == ("Ruth Fenner", "Ida Kvist")
    assert lot.occurrence_remarks == "four broken"


@pytest.mark.parametrize(
    ("site", "reason", "near"),
    [
        (" ", "missing", ()),
        ("Quince Garden", "Import it first", ()),
        ("Heron Meer", "that is meant", ("Heron Mere",)),
        ("teh Mere", "that is meant", ("Heron Mere",)),  # the other name is like it, the first not
    ],
)
def test_an_unknown_site_is_told_with_what_to_do(site: str, reason: str, near: tuple[str, ...]):
    (problem,) = read(replace(LABEL, site=site)).problems
    assert reason in problem.reason
    assert problem.near == near


def test_two_sites_of_one_name_are_not_chosen_between():
    twins = (*SITES, replace(SITES[1], location_id="LNT-03", locality="Heron  mere"))
    found = read_label(replace(LABEL, site="HERON MERE"), twins, LISTED, today=TODAY)
    assert found.visit is None
    assert found.problems[0].near == ("Heron Mere", "Heron  mere")


def test_a_problem_names_the_line_of_the_jar_it_stands_on():
    lines = (*LABEL.lines, LabelLine(name="Aeshna mixta", count="many"), LabelLine(name="Xx yy"))
    found = read(replace(LABEL, lines=lines)).problems
    assert [(one.field, one.line) for one in found] == [("count", 2), ("name", 3)]
    assert found[1].reason == "The name is not on the checklist."


@pytest.mark.parametrize(
    ("contact", "collector", "field"),
    [
        ("", "Ruth", ""),
        ("  ", "", ""),
        ("ruth@example.org", "Ruth", ""),
        (" ruth@example.org ", "Ruth", ""),
        ("ruth@example.org", " ", "collector"),
        ("ruth at example.org", "Ruth", "contact"),
        ("ruth@example", "Ruth", "contact"),
        ("ruth@example.org, ida@example.org", "Ruth", "contact"),
    ],
)
def test_an_address_on_a_label_is_one_and_somebodys(contact: str, collector: str, field: str):
    found = read(replace(LABEL, contact=contact, collector=collector)).problems
    assert [one.field for one in found] == ([field] if field else [])
