"""What a letter may tell of a sighting: firsts, names, waters and wishes, case by case."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pictures_made import MEASURED
from records_made import determination, lot, site

from triage.exports import ExportContent, PersonRow, ReleasePolicy, SurveyMetadata
from triage.exports.release import prepare
from triage.matching import Match
from triage.replies.letters import LetterSighting
from triage.replies.telling import (
    Sources,
    bred_in,
    firsts_of,
    found_by_water,
    name_of,
    said_of,
    told,
)
from triage.sightings import Sighting

HERON = site("HM", locality="Heron Mere")
GARDEN = replace(
    HERON, location_id="QG", locality="Quince Garden", decimal_latitude=53.95, private=True
)
ALDER = replace(HERON, location_id="AP", locality="Alder Pool", decimal_latitude=53.92)


def sighting(identifier: str = "s1", **changes: object) -> Sighting:
    values: dict[str, object] = {
        "identifier": identifier,
        "observer": "P1",
        "event_date": "2026-06-14T10:00:00",
        "decimal_latitude": 53.9,
        "decimal_longitude": 21.7,
        "coordinate_uncertainty_in_meters": 20.0,
        "location_id": "HM",
        "locality": "Heron Mere",
        "photos": (f"{identifier}-photo",),
        "scientific_name": "Anax imperator",
        "taxon_rank": "species",
        "state": "determined",
    }
    return Sighting(**(values | changes))  # type: ignore[arg-type]


def match(location_id: str, **changes: object) -> Match:
    values: dict[str, object] = {name: 0.0 for name in Match.__dataclass_fields__}
    values |= {
        "sighting": "s1",
        "location_id": location_id,
        "distance": 100.0,
        "distance_least": 40.0,
        "breeding_evidence": "exuviae",
        "taxon_agreement": "same",
        "exuviae_years": (2025, 2026),
    }
    return Match(**(values | changes))  # type: ignore[arg-type]


def sources(*sightings: Sighting, **changes: object) -> Sources:
    content = ExportContent(
        survey=SurveyMetadata(title="Linnet Water Survey", version="triage 0"),
        sightings=sightings,
        sites=(HERON, GARDEN, ALDER),
        **changes,  # type: ignore[arg-type]
    )
    return Sources(
        content=content,
        release=prepare(content, ReleasePolicy()),
        measurements={},
        vernacular={"Anax imperator": "Blue Emperor"},
        firsts=firsts_of(sightings),
    )


def heard(one: Sighting, *, vernacular: bool = True, **changes: object) -> LetterSighting:
    return told(sources(one, **changes), one, vernacular=vernacular)


def test_the_first_of_the_survey_and_the_first_at_a_water_are_told_once():
    found = [
        sighting("b", event_date="2026-06-15"),
        sighting("a", event_date="2026-06-14"),
        sighting("c", event_date="2026-06-16", location_id="AP"),
        sighting("d", event_date="2026-06-17", location_id="AP"),
        sighting("e", event_date="2026-06-18", location_id=""),
    ]
    assert firsts_of(found) == {"a": "survey", "c": "water"}


@pytest.mark.parametrize(
    "changed",
    [
        {"state": "second opinion"},
        {"qualifier": "cf."},
        {"taxon_rank": "genus", "scientific_name": "Anax"},
        {"scientific_name": ""},
        {"event_date": ""},
    ],
)
def test_what_is_not_sure_is_no_first_and_takes_none_away(changed: dict[str, str]):
    unsure = sighting("a", **{"event_date": "2026-06-01", **changed})
    assert firsts_of([unsure, sighting("b")]) == {"b": "survey"}


@given(st.permutations([sighting(name, event_date=f"2026-06-{n:02d}") for n, name in
                        enumerate("abcd", 1)]))  # fmt: skip
def test_the_order_of_the_sightings_changes_no_first(found: list[Sighting]):
    assert firsts_of(found) == {"a": "survey"}


def test_two_of_one_day_have_one_first():
    assert firsts_of([sighting("b"), sighting("a")]) == {"a": "survey"}


def test_what_was_said_changes_with_state_name_and_doubt():
    said = {
        said_of(sighting()),
        said_of(sighting(qualifier="cf.")),
        said_of(sighting(state="second opinion")),
        said_of(sighting(scientific_name="Aeshna mixta")),
        said_of(sighting(scientific_name="", state="undeterminable")),
    }
    assert len(said) == 5
    assert said_of(sighting()) == said_of(sighting(locality="elsewhere", event_date=""))


@pytest.mark.parametrize(
    ("changed", "vernacular", "name"),
    [
        ({}, True, "Anax imperator (Blue Emperor)"),
        ({}, False, "Anax imperator"),
        ({"qualifier": "cf."}, False, "Anax cf. imperator"),
        ({"scientific_name": "Anax", "taxon_rank": "genus"}, True, "Anax sp."),
        ({"scientific_name": "Lestes sponsa"}, True, "Lestes sponsa"),
        ({"scientific_name": ""}, True, ""),
    ],
)
def test_a_name_is_written_as_a_letter_has_it(changed, vernacular: bool, name: str):
    one = sighting(**changed)
    assert name_of(sources(one), one, vernacular=vernacular) == name


def test_a_sighting_is_told_by_its_day_place_and_name():
    found = heard(sighting())
    assert (found.day, found.place, found.name) == (
        "2026-06-14",
        "Heron Mere",
        "Anax imperator (Blue Emperor)",
    )
    assert (found.short_name, found.first) == ("Anax imperator", "survey")
    assert (found.private, found.located, found.doubtful, found.coarse) == (
        False,
        True,
        False,
        False,
    )


def test_a_private_place_is_named_to_nobody():
    found = heard(sighting(location_id="QG", locality="Quince Garden", decimal_latitude=53.95))
    assert (found.place, found.private) == ("", True)


def test_a_place_without_a_name_is_the_water_that_a_fix_lies_at():
    one = sighting(location_id="", locality="")
    assert heard(one).place == ""
    at = match("AP", distance=20.0, distance_least=0.0)
    nearer = match("HM", distance=10.0, distance_least=0.0)
    off = match("HM", distance=5.0, distance_least=1.0)
    assert heard(one, matches=(at,)).place == "Alder Pool"
    assert heard(one, matches=(at, nearer)).place == "Heron Mere"
    assert heard(one, matches=(at, off)).place == "Alder Pool"


@pytest.mark.parametrize(
    ("matches", "water", "here", "searched"),
    [
        ((), "", False, False),
        ((match("HM"),), "Heron Mere", True, True),
        ((match("AP"),), "Alder Pool", False, True),
        ((match("AP", distance=50.0), match("HM", distance=60.0)), "Alder Pool", False, True),
        ((match("HM", breeding_evidence="not found"),), "", False, True),
        ((match("HM", breeding_evidence="not searched"),), "", False, False),
        ((match("HM", taxon_agreement="compatible"),), "", False, True),
        ((match("QG"),), "", False, True),
        ((match("", breeding_evidence="exuviae"),), "", False, False),
        ((match("HM", sighting="another"),), "", False, False),
    ],
)
def test_skins_are_told_of_the_nearest_water_that_may_be_named(matches, water, here, searched):
    found = heard(sighting(), matches=matches)
    assert (found.bred_at, found.bred_here, found.searched) == (water, here, searched)
    assert found.bred_years == ((2025, 2026) if water else ())


def test_the_newest_reason_is_told_without_names():
    made = [
        determination(f"d{n}", "", sighting="s1", reason=reason, identified_by="P2")
        for n, reason in enumerate(("too far", "Marek Olszak says: blurred"), 1)
    ]
    one = sighting(scientific_name="", state="undeterminable")
    people = (PersonRow(code="P2", name="Marek Olszak"),)
    found = heard(one, determinations=tuple(made), people=people)
    assert found.reason == "[withheld] says: blurred"
    assert heard(one).reason == ""


@pytest.mark.parametrize(
    ("changed", "pixels", "focus", "wish"),
    [
        ({}, 900.0, 0.9, ""),
        ({"taxon_rank": "genus", "scientific_name": "Anax"}, 100.0, 0.9, "nearer"),
        ({"taxon_rank": "genus", "scientific_name": "Anax"}, 900.0, 0.1, "sharper"),
        ({"scientific_name": "", "best_dorsal": "p"}, 900.0, 0.9, "lateral"),
        ({"scientific_name": "", "best_lateral": "p"}, 900.0, 0.9, "dorsal"),
    ],
)
def test_a_wish_is_for_the_best_photo_of_what_was_not_named(changed, pixels, focus, wish):
    one = sighting(photos=("a", "b"), **changed)
    known = replace(
        sources(one),
        measurements={
            "a": replace(MEASURED, usability=0.9, insect_px=pixels, focus=focus),
            "b": replace(MEASURED, usability=0.1, insect_px=1.0, focus=0.0),
        },
    )
    assert told(known, one, vernacular=False).wish == wish
    assert told(sources(one), one, vernacular=False).wish == ""


def test_waters_that_may_be_named_list_what_was_found_there():
    found = [
        sighting("a"),
        sighting("b"),
        sighting("c", location_id="AP", scientific_name="Aeshna mixta"),
        sighting("d", location_id="QG", decimal_latitude=53.95),
        sighting("e", location_id="", decimal_latitude=None, decimal_longitude=None),
    ]
    assert found_by_water(sources(*found), found) == {
        "Heron Mere": Counter({"Anax imperator (Blue Emperor)": 2}),
        "Alder Pool": Counter({"Aeshna mixta": 1}),
    }


def test_taxa_bred_in_a_year_are_sure_found_and_of_that_year():
    lots = (
        lot("1", "Anax imperator"),
        lot("2", "Aeshna mixta", first_day="2025-08-01", last_day="2025-08-01"),
        lot("3", "Lestes sponsa", count=0),
        lot("4", "Lestes dryas", identification_qualifier="cf."),
        lot("5", "Aeshna cyanea", location_id="QG"),
    )
    assert bred_in(sources(lots=lots), 2026) == ["Anax imperator"]
    assert bred_in(sources(lots=lots), 2025) == ["Aeshna mixta"]
