"""Spots of a map: every sighting that has a place lies in one, and never more than are wanted."""

from __future__ import annotations

import random

import pytest
import records_made as made

from triage.store import ground, sightings
from triage.store.connection import Survey

CELL = 50.0  # metres


def fill(survey: Survey, count: int, seed: int) -> list[tuple[float, float]]:
    """Sightings around a lake, some without a place; the places of the others."""
    draw = random.Random(seed)
    photo = made.photo(survey, 1)
    places = []
    for number in range(count):
        place = {}
        if draw.random() < 0.8:
            where = draw.gauss(53.9, 0.003), draw.gauss(21.7, 0.003)
            places.append(where)
            place = {"decimal_latitude": where[0], "decimal_longitude": where[1]}
        day = draw.choice(["", "2026", "2026-07", "2026-07-03", "2026-07-03T10:00:00+02:00"])
        made.sighting(survey, f"s{number:03d}", photo, event_date=day, **place)
    return places


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("most", [1, 5, 1000])
def test_spots_hold_every_placed_sighting_once(empty: Survey, seed: int, most: int):
    places = fill(empty, 60, seed)
    spots = ground.spots(empty, cell=CELL, most=most)
    assert sum(one.count for one in spots) == len(places)
    assert 0 < len(spots) <= most
    for one in spots:
        assert (one.decimal_latitude, one.decimal_longitude) in places


def test_spots_of_wider_squares_are_no_more(empty: Survey):
    fill(empty, 80, 1)
    counts = [len(ground.spots(empty, cell=CELL * 2**n, most=1000)) for n in range(6)]
    assert counts == sorted(counts, reverse=True)
    assert counts[0] > counts[-1] >= 1


@pytest.mark.parametrize(
    ("days", "numbers", "first", "last"),
    [
        (["2026-01-01"], "1", "2026-01-01", "2026-01-01"),
        (["2026-12-31", "2024-12-31"], "365 366", "2024-12-31", "2026-12-31"),
        (["2026-03-01T08:00:00Z"], "60", "2026-03-01", "2026-03-01"),
        (["2026-07-01/2026-07-05"], "182", "2026-07-01", "2026-07-01"),
        (["2026", ""], "", "2026", "2026"),
        ([""], "", "", ""),
    ],
)
def test_a_spot_tells_the_days_of_the_year_of_those_that_have_a_day(
    empty: Survey, days, numbers, first, last
):
    photo = made.photo(empty, 1)
    for number, day in enumerate(days):
        made.sighting(
            empty,
            f"s{number}",
            photo,
            event_date=day,
            decimal_latitude=53.9,
            decimal_longitude=21.7,
        )
    [spot] = ground.spots(empty, cell=CELL, most=9)
    assert sorted(spot.days.split()) == sorted(numbers.split())
    assert (spot.first, spot.last, spot.count) == (first, last, len(days))


def test_a_survey_without_places_has_no_spot(empty: Survey):
    assert ground.spots(empty, cell=CELL, most=9) == []
    made.sighting(empty, "s", made.photo(empty, 1))
    assert ground.spots(empty, cell=CELL, most=9) == []


def test_the_number_of_changes_moves_with_what_the_map_shows_and_with_nothing_else(empty: Survey):
    made.sighting(empty, "s", made.photo(empty, 1), decimal_latitude=53.9, decimal_longitude=21.7)
    before = ground.changes(empty)
    row = sightings.of_identifiers(empty, ["s"])[0]
    sightings.save_facts(empty, row)
    assert ground.changes(empty) == before
    empty.connection.execute("update sightings set event_date = '2026-07-03'")
    assert ground.changes(empty) > before


def test_the_stamp_differs_when_an_action_or_a_mail_comes(empty: Survey):
    stamps = {ground.stamp(empty)}
    made.message(empty, 1)
    stamps.add(ground.stamp(empty))
    made.photo(empty, 1)
    stamps.add(ground.stamp(empty))
    assert len(stamps) == 3
    assert ground.stamp(empty) in stamps
