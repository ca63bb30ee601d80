"""Samples by taxa, seasons and emergence, counted by hand from a few visits and outings."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from records_made import lot
from report_making import content, material

from triage.exuviae import Visit
from triage.report.material import Material
from triage.report.samples import Samples, adult_samples, exuviae_samples
from triage.report.seasons import season_rows, site_emergence
from triage.sightings import Sighting


def visit(name: str, day: str, place: str = "HM") -> Visit:
    return Visit(event_id=name, location_id=place, first_day=day, last_day=day)


def adult(name: str, day: str, taxon: str = "Anax imperator", **changes: object) -> Sighting:
    values: dict[str, object] = {
        "identifier": name,
        "observer": "P-1",
        "event_date": day,
        "decimal_latitude": 53.902137,
        "decimal_longitude": 21.695461,
        "coordinate_uncertainty_in_meters": 12.0,
        "scientific_name": taxon,
        "taxon_rank": "species",
        "state": "determined",
    }
    return Sighting(**(values | changes))  # type: ignore[arg-type]


whole_survey = cache(content)


def made(lots=(), visits=(), sightings=()) -> Material:
    whole = replace(
        whole_survey(),
        lots=tuple(lots),
        visits=tuple(visits),
        sightings=tuple(sightings),
        determinations=(),
        photos=(),
        matches=(),
    )
    return material(whole, internal=True)


def table(found: Samples) -> dict[str, dict[str, int]]:
    return {
        unit: {name: int(n) for name, n in zip(found.taxa, row, strict=True) if n}
        for unit, row in zip(found.units, found.counts, strict=True)
    }


def test_the_lots_of_a_visit_are_one_sample_and_a_lot_without_a_visit_its_own():
    visits = [visit("V1", "2026-06-12"), visit("V2", "2025-07-01")]
    lots = [
        lot("1", "Anax imperator", 3, event_id="V1"),
        lot("2", "Anax imperator", 4, event_id="V1"),
        lot("3", "Aeshna mixta", 1, event_id="V1"),
        lot("4", "Aeshna mixta", 2, "2026-08-01", event_id="V9"),
        lot("5", "Lestes sponsa", 0, event_id="V1"),
    ]
    found = exuviae_samples(made(lots, visits))
    assert table(found) == {
        "HM 2026-08-01": {"Aeshna mixta": 2},
        "V1": {"Aeshna mixta": 1, "Anax imperator": 7},
        "V2": {},
    }
    assert (found.place, found.year) == (("HM", "HM", "HM"), (2026, 2026, 2025))
    assert found.left_out == 0


def test_a_genus_beside_one_of_its_species_is_left_out_and_counted():
    visits = [visit("V1", "2026-06-12")]
    lots = [
        lot("1", "Coenagrion puella", 3, event_id="V1"),
        lot("2", "Coenagrion", 5, event_id="V1"),
    ]
    found = exuviae_samples(made(lots, visits))
    assert (found.taxa, found.left_out) == (("Coenagrion puella",), 5)
    alone = exuviae_samples(made(lots[1:], visits))
    assert (alone.taxa, alone.left_out) == (("Coenagrion",), 0)


def test_a_part_of_the_samples_has_the_taxa_found_in_it():
    visits = [visit("V1", "2026-06-12"), visit("V2", "2025-07-01", "AP")]
    lots = [
        lot("1", "Anax imperator", 3, event_id="V1"),
        lot("2", "Aeshna mixta", 1, "2025-07-01", event_id="V2"),
    ]
    found = exuviae_samples(made(lots, visits))
    assert found.of(year=2025).taxa == ("Aeshna mixta",)
    assert found.of(place="HM").units == ("V1",)
    assert found.of(place="HM", year=2025).units == ()
    assert found.of().units == found.units
    np.testing.assert_array_equal(found.counts > 0, [[False, True], [True, False]])


def test_adults_of_one_observer_one_day_and_one_water_are_one_sample():
    found = adult_samples(
        made(
            sightings=[
                adult("a", "2026-06-20T10:00:00"),
                adult("b", "2026-06-20T16:00:00"),
                adult("c", "2026-06-20", "Aeshna mixta", observer="P-2"),
                adult("d", "2026-06-21", ""),
                adult("e", "2026-06"),
                adult("f", "2026-06-22", decimal_latitude=None, decimal_longitude=None),
            ]
        )
    )
    assert sorted(map(sorted, (row.items() for row in table(found).values()))) == [
        [],
        [("Aeshna mixta", 1)],
        [("Anax imperator", 2)],
    ]
    assert set(found.place) == {"HM"}


LOTS = st.lists(
    st.tuples(
        st.sampled_from(["V1", "V2", ""]),
        st.sampled_from(["Anax imperator", "Aeshna mixta", "Coenagrion puella", "Coenagrion"]),
        st.integers(0, 5),
    ),
    max_size=8,
)


def test_a_name_that_waits_for_a_second_look_counts_in_no_sample_and_no_season():
    seen = [adult("s1", "2026-06-20"), adult("s2", "2026-06-21", state="second opinion")]
    of_both = made(sightings=seen)
    assert table(adult_samples(of_both)) == table(adult_samples(made(sightings=seen[:1]))) | {
        unit: {} for unit in adult_samples(of_both).units if "2026-06-21" in unit
    }
    assert season_rows(of_both) == season_rows(made(sightings=seen[:1])) != []


@given(LOTS)
def test_every_skin_is_counted_or_left_out(drawn):
    lots = [
        lot(str(n), name, count, event_id=event) for n, (event, name, count) in enumerate(drawn)
    ]
    found = exuviae_samples(made(lots, [visit("V1", "2026-06-12"), visit("V2", "2026-06-13")]))
    assert found.counts.sum() + found.left_out == sum(one.individual_count for one in lots)
    assert all(found.counts[:, column].any() for column in range(len(found.taxa)))
    assert len(set(found.units)) == len(found.units)


def test_a_season_is_told_by_year_and_over_all_years_where_there_are_several():
    lots = [
        lot("1", "Anax imperator", 3, event_id="V1"),
        lot("2", "Anax imperator", 5, "2025-06-22", event_id="V2"),
    ]
    rows = season_rows(made(lots, sightings=[adult("a", "2026-07-01")]))
    assert [(row.record, row.year, row.days, row.counts) for row in rows] == [
        ("adults", None, (182,), (1,)),
        ("adults", 2026, (182,), (1,)),
        ("exuviae", None, (163, 173), (3, 5)),
        ("exuviae", 2025, (173,), (5,)),
        ("exuviae", 2026, (163,), (3,)),
    ]
    assert [row.em50 is not None for row in rows] == [False, False, False, True, True]
    (alone,) = season_rows(made(lots[:1]))
    assert alone.year == 2026


@pytest.mark.parametrize(("last_day", "counts"), [("2026-07-13", True), ("2026-07-14", False)])
def test_a_collection_of_more_than_a_month_dates_nothing(last_day: str, counts: bool):
    """From 12 June, 31 days end on 13 July."""
    one = lot("1", "Anax imperator", last_day=last_day)
    assert bool(season_rows(made([one]))) == counts


def test_emergence_at_a_site_needs_two_days_of_one_year():
    lots = [
        lot("1", "Anax imperator", 3, "2026-06-12", event_id="V1"),
        lot("2", "Anax imperator", 5, "2026-06-20", event_id="V2"),
        lot("3", "Anax imperator", 9, "2025-06-20", event_id="V3"),
        lot("4", "Aeshna mixta", 2, "2026-06-12", event_id="V1"),
        lot("5", "Aeshna mixta", 2, "2026-06-12", event_id="V4"),
        lot("6", "Aeshna mixta", 0, "2026-06-30", event_id="V5"),
    ]
    (found,) = site_emergence(made(lots))
    assert (found.location_id, found.scientific_name, found.year) == ("HM", "Anax imperator", 2026)
    assert (found.exuviae, found.collections) == (8, 2)
    assert (
        found.em50.value == 8
    )  # three of eight on the first day, so half is reached on the second
