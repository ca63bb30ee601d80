"""An outing is one observer's day at one site, or in one cell of 0.01 degree."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from making import sighting

from triage.matching.outings import one_day, outing_of, place_of


@pytest.mark.parametrize(
    ("event_date", "day"),
    [
        ("2026-06-14", "2026-06-14"),
        ("2026-06-14T23:59:00+02:00", "2026-06-14"),
        ("2026-06-14T08:00:00/2026-06-14T09:00:00", "2026-06-14"),
        ("2026-06-14/2026-06-15", ""),
        ("2026-06", ""),
        ("2026", ""),
        ("", ""),
        ("in June", ""),
    ],
)
def test_only_what_is_known_to_the_day_has_one(event_date: str, day: str):
    assert one_day(event_date) == day


def test_one_observer_one_day_one_place_is_one_outing():
    first = sighting(identifier="a", observer="P1", event_date="2026-06-14T08:00:00")
    again = sighting(identifier="b", observer="P1", event_date="2026-06-14T17:00:00")
    assert outing_of(first, "LNT-01") == outing_of(again, "LNT-01")
    others = [
        outing_of(sighting(identifier="c", observer="P2", event_date="2026-06-14"), "LNT-01"),
        outing_of(sighting(identifier="d", observer="P1", event_date="2026-06-15"), "LNT-01"),
        outing_of(first, "LNT-02"),
    ]
    assert len({outing_of(first, "LNT-01"), *others}) == 4
    assert None not in others


def test_without_a_day_or_a_place_there_is_no_outing():
    nowhere = sighting(decimal_latitude=None, decimal_longitude=None)
    assert place_of(nowhere, "") is None
    assert outing_of(nowhere, "") is None
    assert outing_of(nowhere, "LNT-01") is not None
    assert outing_of(sighting(event_date="2026-06"), "LNT-01") is None


def test_a_cell_is_a_hundredth_of_a_degree_wide():
    here = sighting(decimal_latitude=53.901, decimal_longitude=21.704)
    assert place_of(here, "") == place_of(
        sighting(decimal_latitude=53.904, decimal_longitude=21.701), ""
    )
    for latitude, longitude in ((53.911, 21.704), (53.901, 21.714)):
        there = sighting(decimal_latitude=latitude, decimal_longitude=longitude)
        assert place_of(there, "") != place_of(here, "")


@given(st.floats(-90, 90))
def test_the_180th_meridian_is_one_place_from_both_sides(latitude: float):
    west = sighting(decimal_latitude=latitude, decimal_longitude=180.0)
    east = sighting(decimal_latitude=latitude, decimal_longitude=-180.0)
    assert place_of(west, "") == place_of(east, "")


@given(st.floats(-90, 90), st.floats(-180, 180), st.integers(-2, 2))
def test_whole_turns_move_nothing(latitude: float, longitude: float, turns: int):
    one = sighting(decimal_latitude=latitude, decimal_longitude=round(longitude, 1))
    turned = sighting(
        decimal_latitude=latitude, decimal_longitude=round(longitude, 1) + 360.0 * turns
    )
    assert place_of(one, "") == place_of(turned, "")
