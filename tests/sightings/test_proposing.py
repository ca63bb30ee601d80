"""Photos become sightings cautiously: two animals stay two unless the frames say otherwise."""

from __future__ import annotations

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from triage.sightings import (
    Edit,
    Frame,
    GroupingRules,
    may_be_one_animal,
    propose,
    sighting_identifier,
)

RULES = GroupingRules()
BLUE = (0.9, 0.1, 0.0)
RED = (0.0, 0.2, 0.8)


def frame(photo: str, seconds: float | None = 0.0, **changes: object) -> Frame:
    values: dict[str, object] = {
        "photo": photo,
        "observer": "1",
        "message": "m1",
        "day": "2026-06-14",
        "seconds": seconds,
        "decimal_latitude": 53.9,
        "decimal_longitude": 21.7,
        "coordinate_uncertainty_in_meters": 10.0,
        "location_id": "",
        "suborder": "anisoptera",
        "colours": BLUE,
        "burst": "",
    }
    return Frame(**{**values, **changes})  # type: ignore[arg-type]


def groups(frames: list[Frame], *edits: Edit, rules: GroupingRules = RULES) -> list[set[str]]:
    return [{photo for photo, _ in one} for one in propose(frames, rules, edits)]


def test_two_frames_of_one_animal_seconds_apart_are_one_sighting():
    assert groups([frame("a"), frame("b", 6.0)]) == [{"a", "b"}]


@pytest.mark.parametrize(
    "changes",
    [
        {"colours": RED},
        {"suborder": "zygoptera"},
        {"observer": "2"},
        {"day": "2026-06-15"},
        {"decimal_latitude": 53.91},
        {"location_id": "B"},
        {"seconds": 600.0},
    ],
)
def test_whatever_speaks_against_one_animal_keeps_two(changes):
    seconds = changes.pop("seconds", 6.0)
    first = frame("a", location_id="A" if "location_id" in changes else "")
    assert groups([first, frame("b", seconds, **changes)]) == [{"a"}, {"b"}]


def test_two_animals_half_a_minute_apart_stay_two_when_their_colours_differ_a_little():
    other = (0.5, 0.3, 0.2)  # likeness 0.6: enough at once, not enough after half a minute
    rules = GroupingRules(same_animal_seconds=60.0, least_likeness=0.58)
    assert groups([frame("a"), frame("b", 1.0, colours=other)], rules=rules) == [{"a", "b"}]
    assert groups([frame("a"), frame("b", 30.0, colours=other)], rules=rules) == [{"a"}, {"b"}]


@pytest.mark.parametrize(
    ("changes", "one_animal"),
    [
        ({}, True),  # whatever the clock says
        ({"suborder": "zygoptera"}, False),  # however unsure
        ({"decimal_latitude": 53.91}, False),
        ({"location_id": "B"}, False),
        ({"colours": RED}, False),
        ({"colours": (0.56, 0.44, 0.0)}, True),  # likeness 0.66
        ({"colours": (0.48, 0.52, 0.0)}, True),  # likeness 0.58: less is asked within a burst
        ({"colours": (0.4, 0.6, 0.0)}, False),  # likeness 0.5
        ({"told_apart": True, "colours": (0.6, 0.4, 0.0)}, False),  # likeness 0.7
        ({"told_apart": True}, True),  # as alike as two frames of one animal
    ],
)
def test_one_burst_never_outweighs_what_speaks_against_one_animal(changes, one_animal):
    first = frame("a", burst="x", location_id="A" if "location_id" in changes else "")
    found = groups([first, frame("b", 500.0, burst="x", **changes)])
    assert (found == [{"a", "b"}]) is one_animal


def test_words_of_several_animals_part_only_the_frames_of_their_message():
    told = {"told_apart": True, "colours": (0.7, 0.3, 0.0)}  # likeness 0.8 to others, 1 to own
    one, two = frame("a", told_apart=True), frame("b", 5.0, colours=(0.6, 0.4, 0.0))
    assert groups([one, two]) == [{"a"}, {"b"}]
    other = frame("b", 5.0, message="m2", colours=(0.6, 0.4, 0.0))
    assert groups([one, other]) == [{"a", "b"}]
    assert groups([frame("c", **told), frame("d", 1.0, **told)]) == [{"c", "d"}]


@pytest.mark.parametrize(("alike", "one_animal"), [(1.0, True), (0.66, True), (0.3, False)])
def test_any_measure_of_likeness_can_be_asked(alike, one_animal):
    frames = [frame("a"), frame("b", 1.0, colours=RED)]
    found = propose(frames, RULES, likeness=lambda first, second: alike)
    assert (len(found) == 1) is one_animal


@settings(deadline=None)
@given(
    st.sampled_from([{}, {"colours": RED}, {"suborder": "zygoptera"}, {"told_apart": True}]),
    st.sampled_from(["", "x"]),
    st.floats(0, 400),
)
def test_what_may_be_one_animal_does_not_depend_on_which_is_named_first(changes, burst, gap):
    one, two = frame("a", burst=burst), frame("b", gap, burst=burst, **changes)
    assert may_be_one_animal(one, two, RULES) == may_be_one_animal(two, one, RULES)


def test_without_a_time_only_one_message_brings_photos_together():
    together = [frame("a", None, day=""), frame("b", None, day="")]
    apart = [frame("a", None, day=""), frame("b", None, day="", message="m2")]
    assert groups(together) == [{"a", "b"}]
    assert groups(apart) == [{"a"}, {"b"}]


def test_a_group_holds_only_frames_that_may_all_show_one_animal():
    rules = GroupingRules(same_animal_seconds=60.0, least_likeness=0.0)
    chain = [frame("a", 0.0), frame("b", 50.0), frame("c", 100.0)]
    assert {frozenset(g) for g in groups(chain, rules=rules)} in (
        {frozenset("ab"), frozenset("c")},
        {frozenset("a"), frozenset("bc")},
    )


def test_a_split_takes_a_photo_out_and_a_merge_brings_two_together():
    frames = [frame("a"), frame("b", 2.0), frame("c", 900.0)]
    split = Edit(kind="split", members=(("b", 1),))
    merge = Edit(kind="merge", members=(("b", 1), ("c", 1)))
    assert groups(frames, split) == [{"a"}, {"b"}, {"c"}]
    assert groups(frames, split, merge) == [{"a"}, {"b", "c"}]


def test_a_photo_of_two_animals_belongs_to_two_sightings():
    found = propose([frame("a")], RULES, [Edit(kind="add", members=(("a", 2),))])
    assert found == [(("a", 1),), (("a", 2),)]


@settings(max_examples=40)
@given(st.lists(st.floats(0, 400), min_size=1, max_size=8), st.randoms(use_true_random=False))
def test_the_order_of_the_photos_changes_nothing(seconds: list[float], rng: random.Random):
    frames = [frame(f"p{i}", value) for i, value in enumerate(seconds)]
    shuffled = frames[:]
    rng.shuffle(shuffled)
    assert propose(frames, RULES) == propose(shuffled, RULES)


def test_the_identifier_depends_on_the_set_of_photos_only():
    assert sighting_identifier([("a", 1), ("b", 1)]) == sighting_identifier([("b", 1), ("a", 1)])
    assert sighting_identifier([("a", 1)]) != sighting_identifier([("a", 2)])
