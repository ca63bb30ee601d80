"""The facts of a sighting follow from its photos, whatever their order."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest
from frames_made import picture, place, time

from triage.sightings import Facts, Picture, facts_of, sighting_of
from triage.sightings.facts import changes_since, day_of, facts_of_pictures, seconds_of

CORRECTED = replace(time("2026-06-15T12:00:00"), said=1)  # a camera's clock that somebody put right


@pytest.mark.parametrize(
    ("times", "stands"),
    [
        ([None], ""),
        (["2026-06-14T12:00:05", "2026-06-14T12:00:00"], "2026-06-14T12:00:00"),
        (["2026-06-14", "2026-06-14T12:00:00"], "2026-06-14T12:00:00"),
        (["2026-06-14", None], "2026-06-14"),
        (["2026-06-14T12:00:00", time("2026-06-12", "coordinator")], "2026-06-12"),
        (["2026-06-14T12:00:00", time("2026-06-12", "sender's answer")], "2026-06-12"),
        (["2026-06-14T12:00:00", CORRECTED], CORRECTED.event_date),
        ([time("2026-06-12", "coordinator"), replace(CORRECTED, said=9)], CORRECTED.event_date),
    ],
)
def test_the_earliest_time_of_day_stands_unless_a_person_said_so(times, stands):
    shown = [picture(str(number), when) for number, when in enumerate(times)]
    assert facts_of_pictures(shown).event_date == stands


@pytest.mark.parametrize(
    ("places", "latitude"),
    [
        ([None], None),
        ([place(53.9), place(53.8, coordinate_uncertainty_in_meters=5.0)], 53.8),
        ([place(53.9), place(53.8, coordinate_uncertainty_in_meters=None)], 53.9),
        ([place(53.9, doubts=("old fix",)), place(53.8)], 53.8),
        ([place(None, locality="Mere"), place(53.8)], 53.8),
        ([place(53.9, coordinate_uncertainty_in_meters=1.0), place(53.7, source="coordinator")],
         53.7),
    ],
)  # fmt: skip
def test_the_surest_place_stands_unless_a_person_said_so(places, latitude):
    shown = [picture(str(number), where=where) for number, where in enumerate(places)]
    assert facts_of_pictures(shown).decimal_latitude == latitude


@pytest.mark.parametrize(
    ("told", "suborder"),
    [
        ([("anisoptera", 0.9)], "anisoptera"),
        ([("anisoptera", 0.6), ("zygoptera", 0.9)], "zygoptera"),
        ([("zygoptera", 0.5), ("anisoptera", 0.5)], "anisoptera"),
    ],
)
def test_the_suborder_is_the_likelier_over_all_photos(told, suborder):
    shown = [
        picture(str(number), suborder=name, suborder_probability=chance)
        for number, (name, chance) in enumerate(told)
    ]
    assert facts_of_pictures(shown).suborder == suborder


def some() -> dict[str, Picture]:
    shown = [
        picture("a", view="lateral", usability=0.4),
        picture("b", view="lateral", usability=0.8, received="2026-06-15T17:00:00+00:00"),
        picture("c", view="other", usability=0.9),
        picture("d", view="dorsal", usability=0.3),
    ]
    return {one.best: one for one in shown}


def test_photos_stand_best_back_view_first_then_side_then_by_usability():
    found = sighting_of([(one, 1) for one in "abcd"], some())
    assert found.members == (("d", 1), ("b", 1), ("c", 1), ("a", 1))
    assert (found.best_dorsal, found.best_lateral) == ("d", "b")
    assert found.first_received == "2026-06-15T17:00:00+00:00"


def test_a_sighting_does_not_depend_on_the_order_of_its_photos():
    members = [(one, animal) for one in "abcd" for animal in (1, 2)]
    expected = sighting_of(members, some())
    for seed in range(5):
        mixed = random.Random(seed).sample(members, len(members))
        assert sighting_of(mixed, some()) == expected


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({}, []),
        ({"event_date": "2026-06-15"}, ["the date would become 2026-06-15"]),
        ({"event_date": ""}, ["the date would become unknown"]),
        ({"location_id": "B", "locality": "Mere"}, ["the place would become Mere"]),
        ({"decimal_latitude": 53.8}, ["the place would become 53.8, 21.7"]),
        ({"suborder": "zygoptera", "best_dorsal": "b"}, []),  # nobody decided on these
    ],
)
def test_what_would_change_is_said_in_words(changes, words):
    then = Facts(event_date="2026-06-14", decimal_latitude=53.9, decimal_longitude=21.7)
    assert changes_since(then, replace(then, **changes)) == words


@pytest.mark.parametrize(
    ("event_date", "day", "known"),
    [
        ("2026-06-14T12:00:00+02:00", "2026-06-14", True),
        ("2026-06-14T12:00", "2026-06-14", True),
        ("2026-06-14", "2026-06-14", False),
        ("2026-06-14/2026-06-16", "2026-06-14", False),
    ],
)
def test_day_and_seconds_of_a_time(event_date, day, known):
    assert day_of(time(event_date)) == day
    assert (seconds_of(time(event_date)) is not None) is known


def test_local_times_are_compared_as_they_are_shown():
    shown = [seconds_of(time(f"2026-06-14T12:00:{s}")) for s in ("00", "10+02:00")]
    assert shown[1] - shown[0] == 10.0
    assert (day_of(None), seconds_of(None)) == ("", None)


def test_the_facts_alone_make_another_record():
    facts = Facts(event_date="2026-06-14", suborder="zygoptera")
    assert Facts(**facts_of(sighting_of([("d", 1)], some()))).best_dorsal == "d"
    assert Facts(**facts_of(facts)) == facts
