"""A label as typed: its visit and lots, or what cannot be used and what may be meant."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.checklist import Checklist, Taxon
from triage.exuviae import Label, LabelLine, Site, read_label, sites_called
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
