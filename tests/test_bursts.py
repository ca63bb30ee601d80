"""Which frames are linked as one burst, by the limits of docs/duplicates.md, worked out by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.duplicates.bursts import burst_links, burst_words, may_be_burst, seconds_between
from triage.duplicates.records import Fingerprint

RED, BLUE = (1.0, 0.0, 0.0), (0.0, 0.0, 1.0)  # colours with nothing in common


def frame(name: str, second: float | None, **facts: object) -> Fingerprint:
    """A frame of one camera, so many seconds after noon."""
    captured = (
        "" if second is None else f"2026-06-14T12:{int(second // 60):02d}:{second % 60:06.3f}"
    )
    values: dict[str, object] = {
        "sha256": name,
        "phash": "0" * 64,
        "width": 4000,
        "height": 3000,
        "byte_size": 1,
        "sender": "ida",
        "camera": "c1",
        "captured": captured,
        "colours": RED,
    }
    return Fingerprint(**(values | facts))  # type: ignore[arg-type]


def pairs(frames: list[Fingerprint]) -> list[tuple[str, str]]:
    return sorted((link.first, link.second) for link in burst_links(frames))


@pytest.mark.parametrize(
    ("seconds", "linked"), [(0.0, True), (60.0, True), (60.9, True), (61.0, False), (600.0, False)]
)
def test_a_minute_in_whole_seconds_is_the_longest_gap(seconds: float, linked: bool):
    found = pairs([frame("a", 0), frame("b", seconds)])
    assert found == ([("a", "b")] if linked else [])


def test_neighbours_are_linked_so_a_long_burst_hangs_together():
    frames = [frame(name, 40.0 * number) for number, name in enumerate("abcd")]
    assert pairs(frames) == [("a", "b"), ("b", "c"), ("c", "d")]


@pytest.mark.parametrize(
    ("seconds", "linked"), [(0.5, True), (10.0, True), (10.5, False), (30.0, False)]
)
def test_after_ten_seconds_other_colours_part_two_frames(seconds: float, linked: bool):
    found = pairs([frame("a", 0, colours=RED), frame("b", seconds, colours=BLUE)])
    assert bool(found) == linked


@pytest.mark.parametrize(
    "other",
    [
        {"sender": "bo"},
        {"camera": "c2"},
        {"camera": ""},
        {"captured": ""},
        {"captured": "at noon"},
    ],
)
def test_another_sender_another_camera_or_no_time_makes_no_burst(other: dict[str, str]):
    assert pairs([frame("a", 0), frame("b", 1, **other)]) == []


@pytest.mark.parametrize(
    ("north", "east", "linked"),
    [
        (0.0, 0.0, True),
        (0.0008, 0.0, True),  # 89 m
        (0.0010, 0.0, False),  # 111 m
        (0.0, 0.0015, True),  # 98 m at 53.9 degrees, whose cosine is 0.589
        (0.0, 0.0016, False),  # 105 m
    ],
)
def test_frames_further_apart_than_a_hundred_metres_show_two_places(north, east, linked):
    here = {"decimal_latitude": 53.9, "decimal_longitude": 21.7}
    there = {"decimal_latitude": 53.9 + north, "decimal_longitude": 21.7 + east}
    assert bool(pairs([frame("a", 0, **here), frame("b", 1, **there)])) == linked


def test_the_180th_meridian_parts_no_burst_and_an_unknown_place_neither():
    west = {"decimal_latitude": 0.0, "decimal_longitude": 179.9999}
    east = {"decimal_latitude": 0.0, "decimal_longitude": -179.9999}
    assert pairs([frame("a", 0, **west), frame("b", 1, **east)]) == [("a", "b")]
    assert pairs([frame("a", 0, **west), frame("b", 1)]) == [("a", "b")]


def test_photos_without_a_time_may_be_one_burst_where_nothing_else_parts_them():
    assert may_be_burst(frame("a", None), frame("b", None))
    assert may_be_burst(frame("a", 0, camera=""), frame("b", None))
    assert not may_be_burst(frame("a", None), frame("b", None, sender="bo"))
    assert seconds_between(frame("a", None), frame("b", 1)) is None


def test_the_evidence_says_how_far_apart_the_frames_are():
    (by_time,) = burst_links([frame("a", 0), frame("b", 12.4)])
    assert (by_time.evidence, by_time.is_by_time) == ("same camera, 12 s apart", True)
    assert burst_words(frame("a", 0), frame("b", 12.4)) == "same scene, 12 s apart"
    assert burst_words(frame("a", None), frame("b", 1)) == "same scene"


@given(st.lists(st.floats(0, 300), min_size=2, max_size=8), st.randoms())
def test_links_do_not_depend_on_the_order_and_name_the_smaller_digest_first(seconds, random):
    frames = [frame(f"p{number}", round(one, 3)) for number, one in enumerate(seconds)]
    found = pairs(frames)
    shuffled = random.sample(frames, len(frames))
    assert pairs(shuffled) == found
    assert all(first < second for first, second in found)
    known = {one.sha256: one for one in frames}
    assert all(may_be_burst(known[first], known[second]) for first, second in found)
    assert all(may_be_burst(replace(known[b]), known[a]) for a, b in found)
