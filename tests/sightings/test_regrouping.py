"""New photos make new sightings; a fixed one keeps its photos, and is told what would change."""

from __future__ import annotations

from dataclasses import replace

import pytest
from frames_made import picture, place

from triage.sightings import (
    Edit,
    GroupingRules,
    Picture,
    best_copies,
    frame_of,
    on_best_copies,
    regroup,
    sighting_of,
)

RULES = GroupingRules()
NEAR = "2026-06-14T12:00:10"
LATER = "2026-06-14T18:00:00"


def of(*shown: Picture) -> dict[str, Picture]:
    return {one.best: one for one in shown}


def groups(found) -> list[set[str]]:
    return [{photo for photo, _ in one.members} for one in found.sightings]


def again(pictures, fixed=(), edits=()):
    return regroup(pictures, fixed, edits, RULES)


def test_photos_of_one_animal_make_one_sighting():
    assert groups(again(of(picture("a"), picture("b", NEAR), picture("c", LATER)))) == [
        {"a", "b"},
        {"c"},
    ]


@pytest.mark.parametrize(
    ("measured", "edits", "count"),
    [
        ({"odonate": 0.2}, [], 0),
        ({"odonate": 0.2}, [Edit(kind="add", members=(("a", 1),))], 1),
        ({"kind": "exuvia"}, [], 0),
        ({"kind": "larva"}, [Edit(kind="add", members=(("a", 1),))], 0),
        ({"kind": "unsure"}, [], 1),
    ],
)
def test_what_shows_no_adult_makes_no_sighting_unless_a_person_added_it(measured, edits, count):
    assert len(again(of(picture("a", **measured)), edits=edits).sightings) == count


def test_a_fixed_sighting_keeps_its_photos_and_hears_of_more():
    pictures = of(picture("a"), picture("b", NEAR))
    fixed = replace(sighting_of([("a", 1)], pictures), frozen_at="2026-06-16T08:00:00+00:00")
    found = again(pictures, [fixed])
    assert groups(found) == [{"b"}]
    assert found.changes == ((fixed.identifier, "1 more photo may show this animal"),)


def test_a_fixed_sighting_hears_of_a_fuller_copy_and_of_another_place():
    before = of(picture("a", where=place(53.9)))
    fixed = sighting_of([("a", 1)], before)
    found = again(of(picture("z", copies=("a", "z"), where=place(53.8))), [fixed])
    assert found.sightings == ()
    assert [change for _, change in found.changes] == [
        "a fuller copy arrived: z",
        "the place would become 53.8, 21.7",
    ]


@pytest.mark.parametrize(
    ("then", "now", "follows"),
    [
        ("camera gps", "coordinator", True),
        ("camera gps", "sender's answer", True),
        ("coordinator", "coordinator", True),
        ("coordinator", "camera gps", True),  # it was taken back
        ("camera gps", "camera gps", False),
        ("camera gps", "message site name", False),
    ],
)
def test_the_place_of_a_fixed_sighting_follows_what_people_say_and_nothing_else(
    then: str, now: str, follows: bool
):
    fixed = sighting_of([("a", 1)], of(picture("a", where=replace(place(53.9), source=then))))
    found = again(of(picture("a", where=replace(place(53.8), source=now))), [fixed])
    assert found.sightings == ()
    assert [one.decimal_latitude for one in found.followed] == ([53.8] if follows else [])
    assert bool(found.changes) != follows
    for one in found.followed:
        assert (one.identifier, one.members, one.place_source) == (
            fixed.identifier,
            fixed.members,
            now,
        )
        assert one.event_date == fixed.event_date


def test_nothing_is_said_of_a_fixed_sighting_whose_photos_are_not_at_hand():
    fixed = sighting_of([("a", 1)], of(picture("a")))
    assert again(of(picture("b", LATER)), [fixed]).changes == ()


def test_an_edit_follows_the_best_copy():
    pictures = of(picture("z", copies=("a", "z")), picture("b", NEAR))
    split = Edit(kind="split", members=(("a", 1),))
    assert groups(again(pictures, edits=[split])) == [{"b"}, {"z"}]
    said = (("a", 2), ("elsewhere", 1))
    assert on_best_copies(said, best_copies(pictures)) == (("z", 2), ("elsewhere", 1))


def test_a_second_look_changes_nothing():
    pictures = of(picture("a"), picture("b", NEAR), picture("c", LATER))
    first = again(pictures)
    fixed = list(first.sightings)
    assert again(pictures, fixed) == replace(first, sightings=(), changes=())


@pytest.mark.parametrize(
    ("when", "observer", "partition"),
    [
        ("2026-06-14T12:00:00", 1, "1 2026-06-14"),
        ("2026-06-14/2026-06-16", 1, "1 2026-06-14"),
        (None, 1, "1 m1"),
        (None, None, " m1"),
    ],
)
def test_photos_are_joined_within_an_observers_day_or_mail(when, observer, partition):
    one = picture("a", when, observer=observer)
    assert one.partition == partition
    frame = frame_of(one)
    assert f"{frame.observer} {frame.day or frame.message}" == partition
