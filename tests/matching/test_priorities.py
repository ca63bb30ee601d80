"""Where a search for exuviae is worth it, when, and what of people and places is kept back."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic
from hypothesis import given, settings
from hypothesis import strategies as st
from making import CHECKLIST, lot, sighting, site, visit

from triage.estimates.detection import chosen_detection
from triage.matching import (
    PrioritySettings,
    day_and_month,
    match_sightings,
    passes_needed,
    search_days,
    search_priorities,
)
from triage.matching.clusters import clusters_within
from triage.matching.search_priority import MOST_PASSES


def priorities(seen, sites, visits=(), lots=(), **options):
    matches = list(match_sightings(seen, sites, visits, lots, CHECKLIST))
    return search_priorities(seen, matches, sites, visits, lots, CHECKLIST, year=2026, **options)


def group(count: int, north: float = 0.5, observers: int = 2, taxon="Anax imperator", **more):
    """Sightings within some tens of metres, far from every site."""
    return [
        sighting(
            taxon,
            identifier=f"g{north}-{number}",
            north=north + number * 1e-4,
            observer=f"P{number % observers}",
            **more,
        )
        for number in range(count)
    ]


def test_sightings_far_from_known_sites_make_a_place_to_search():
    (found,) = priorities(group(4), [site("A")])
    assert (found.kind, found.rank, found.location_id, found.sightings) == (
        "no known site",
        1,
        "",
        4,
    )
    assert found.decimal_latitude == pytest.approx(54.40015, abs=1e-5)
    assert found.radius_in_meters == pytest.approx(16.7 + 20.0, abs=0.1)  # 1.5e-4 degree, 20 m
    assert not found.generalised
    assert found.taxa == ("Anax imperator",)


def test_tenerals_and_pairs_weigh_more_than_passing_adults():
    seen = [
        *group(4, north=0.3),
        *group(2, north=0.4, life_stage="teneral"),
        *group(3, north=0.5, behavior="tandem"),
    ]
    found = priorities(seen, [site("A")])
    assert [(one.sightings, one.tenerals, one.pairs) for one in found] == [
        (2, 2, 0),
        (3, 0, 3),
        (4, 0, 0),
    ]
    assert [one.rank for one in found] == [1, 2, 3]


def test_sightings_that_a_known_site_explains_make_no_new_place():
    assert not [
        one for one in priorities(group(4, north=0.0), [site("A")]) if one.kind == "no known site"
    ]


def test_a_migrant_makes_no_place():
    assert priorities(group(5, taxon="Anax ephippiger"), [site("A")]) == []


def test_the_place_of_a_lone_observer_is_given_as_a_grid_cell():
    (found,) = priorities(group(4, observers=1), [site("A")])
    assert found.generalised
    assert (found.decimal_latitude, found.decimal_longitude) == (54.4, 21.7)
    assert found.radius_in_meters > 600  # half the diagonal of a cell of 0.01 degree at 54 N


@pytest.mark.parametrize(
    ("taxon", "latitude"), [("Leucorrhinia pectoralis", 54.4), ("Leucorrhinia caudalis", None)]
)
def test_the_place_of_a_sensitive_taxon_is_generalised_by_its_category(taxon, latitude):
    """Chapman 2020, table 7: category 3 to 0.01 degree, category 1 not released."""
    (found,) = priorities(group(4, taxon=taxon, day="2026-06-01"), [site("A")])
    assert found.decimal_latitude == latitude
    assert found.protected_taxa == (taxon,)


def test_a_name_that_waits_is_no_taxon_to_look_for_and_hides_its_place_all_the_same():
    for taxon in ("Anax imperator", "Leucorrhinia pectoralis"):
        (settled,) = priorities(group(4, taxon=taxon), [site("A")])
        (waiting,) = priorities(group(4, taxon=taxon, state="second opinion"), [site("A")])
        assert (settled.taxa, waiting.taxa) == ((taxon,), ())
        assert waiting.sightings == 4
        assert waiting.protected_taxa == settled.protected_taxa
        assert waiting.decimal_latitude == settled.decimal_latitude
        assert waiting.generalised is settled.generalised


def test_a_known_site_whose_adults_are_not_among_its_exuviae_is_worth_a_search():
    seen = group(3, north=0.0)
    (found,) = priorities(
        seen,
        [site("A")],
        [visit("V1", "A", "2026-06-10")],
        [lot("L1", "V1", "Coenagrion puella")],
    )
    assert (found.kind, found.location_id, found.taxa) == (
        "taxon not yet found",
        "A",
        ("Anax imperator",),
    )
    assert (found.passes, found.more_passes) == (1, 2)
    assert found.detection == pytest.approx(0.64)


@pytest.mark.parametrize(
    ("event", "said"),
    [
        ("", "1 jar without a visit was gathered here in 2026"),
        ("V9", "1 jar without a visit was gathered here in 2026"),
        ("V1", ""),
    ],
)
def test_jars_without_a_visit_are_said_beside_the_passes_that_they_do_not_count_as(event, said):
    jar = lot("L1", event, "Coenagrion puella", location_id="A")
    jar = replace(jar, first_day="2026-06-10", last_day="2026-06-10")
    earlier = replace(jar, catalog_number="L2", event_id="", last_day="2025-06-10")
    (found,) = priorities(
        group(3, north=0.0), [site("A")], [visit("V1", "A", "2026-06-10")], [jar, earlier]
    )
    assert found.location_id == "A"
    assert said in found.reason
    assert ("enter its visit" in found.reason) is bool(said)


def test_the_more_passes_found_nothing_the_less_a_site_is_worth():
    scores = [
        priorities(
            group(3, north=0.0),
            [site("A")],
            [visit("V1", "A", "2026-06-10", passes)],
            settings=PrioritySettings(least_score=0.0),
        )[-1].score
        for passes in (1, 2, 3)
    ]
    assert scores[0] > scores[1] > scores[2]  # by the share of the site, which takes them in


def test_a_site_searched_too_seldom_is_listed_until_its_passes_are_enough():
    def kinds(passes: int) -> list[str]:
        found = priorities(
            group(30, north=0.0),
            [site("A")],
            [visit("V1", "A", "2026-06-10", passes)],
            [lot("L1", "V1", "Anax imperator")],
            settings=PrioritySettings(least_score=0.0),
        )
        return [one.kind for one in found]

    assert kinds(2) == ["searched too seldom"]
    assert kinds(3) == []


def test_private_sites_are_left_out_and_sensitive_ones_lose_name_and_place():
    seen = group(3, north=0.0)
    assert priorities(seen, [site("A", private=True)]) == []
    (found,) = priorities(seen, [site("A", sensitivity="2")])
    assert (found.location_id, found.locality, found.decimal_latitude) == ("A", "", None)
    assert "Pool" not in found.reason


def test_every_priority_carries_the_cautions():
    for found in priorities([*group(4), *group(3, north=0.0)], [site("A")]):
        said = " ".join(found.cautions).casefold()
        for word in ("alone", "water", "weather", "ticks", "sun", "permission", "permit", "local"):
            assert word in said


def test_three_passes_are_needed_as_published():
    """DuBois 2015: 0.64 a pass; together 0.87 after two, 0.95 after three, 0.98 after four."""
    published = chosen_detection([], stated=0.64)
    assert [round(1 - 0.36**passes, 2) for passes in (2, 3, 4)] == [0.87, 0.95, 0.98]
    assert passes_needed(published, 0.95) == 3
    assert passes_needed(published, 0.87) == 2
    assert passes_needed(chosen_detection([], stated=0.01), 0.95) == MOST_PASSES
    with pytest.raises(ValueError, match="between 0 and 1"):
        passes_needed(published, 1.0)


def test_outings_count_and_not_photos():
    """Twelve photos of one observer's day weigh less than six observers on six days."""
    one_day = group(12, north=0.5, observers=1)
    six_days = [
        sighting(
            identifier=f"d{n}", north=0.3 + n * 1e-4, observer=f"P{n}", day=f"2026-06-{n + 10}"
        )
        for n in range(6)
    ]
    first, second = priorities([*one_day, *six_days], [site("A")])
    assert (first.outings, first.sightings) == (6, 6)
    assert (second.outings, second.sightings) == (1, 12)
    assert first.score == pytest.approx(6 * second.score, rel=0.01)


def test_none_needs_to_be_the_likeliest_and_no_more():
    """Three ponds around share what is left: none leads with less than a half."""
    around = [site(f"S{n}", 0.009, decimal_longitude=21.7 + n * 0.008) for n in (-1, 0, 1)]
    (rows,) = [list(match_sightings([sighting()], around, [], [], CHECKLIST))]
    assert max(rows, key=lambda row: row.share).location_id == ""
    assert rows[-1].share < 0.5
    found = priorities([sighting()], around, settings=PrioritySettings(least_score=0.1))
    assert found[0].kind == "no known site"


def test_one_place_is_one_row_with_both_reasons():
    seen = [
        *group(3, north=0.0),
        *group(3, north=0.0001, taxon="Coenagrion puella", observers=3),
    ]
    found = priorities(
        seen,
        [site("A")],
        [visit("V1", "A", "2026-06-10")],
        [lot("L1", "V1", "Coenagrion puella")],
        settings=PrioritySettings(least_score=0.0),
    )
    (row,) = [one for one in found if one.location_id == "A"]
    assert row.kind == "taxon not yet found"
    assert "without exuviae found here" in row.reason
    assert "too few to say what emerges" in row.reason


def test_a_pass_outside_the_days_of_a_taxon_is_no_pass():
    def passes(day: str) -> int:
        found = priorities(group(3, north=0.0), [site("A")], [visit("V1", "A", day, 2)])
        return next(one.passes for one in found if one.location_id)

    assert (passes("2026-06-10"), passes("2026-03-10")) == (2, 0)


def test_passes_in_the_days_of_one_taxon_are_not_said_to_be_none_of_another():
    seen = [*group(3, north=0.0), *group(3, north=0.0001, taxon="Aeshna mixta", observers=3)]
    found = priorities(seen, [site("A")], [visit("V1", "A", "2026-06-10", 2)])
    (row,) = [one for one in found if one.location_id == "A"]
    assert row.passes == 0
    assert "no pass in 2026 in the days of the least searched of them." in row.reason


def test_emergence_comes_before_flight():
    days = search_days(["Anax imperator"], [], CHECKLIST)
    assert (days.first, days.last) == (136, 220)  # day 150 less 14; at most twelve weeks
    assert day_and_month(days.first) == "05-16"


def test_an_overwintering_adult_emerges_in_late_summer():
    days = search_days(["Sympecma fusca"], [], CHECKLIST)
    assert (day_and_month(days.first), day_and_month(days.last)) == ("07-18", "10-10")


def test_enough_exuviae_of_the_survey_decide_over_the_checklist():
    lots = [
        lot("L1", "", "Anax imperator", count=30, first_day="2026-06-01", last_day="2026-06-01"),
        lot("L2", "", "Anax imperator", count=30, first_day="2026-06-11", last_day="2026-06-11"),
    ]
    days = search_days(["Anax imperator"], lots, CHECKLIST)
    assert (day_and_month(days.first), day_and_month(days.last)) == ("05-25", "06-18")
    assert "60 exuviae" in days.basis
    assert "checklist" in search_days(["Anax imperator"], lots[:1], CHECKLIST).basis


def test_without_season_the_days_of_the_sightings_must_do():
    seen = [(date(2026, 7, 1), date(2026, 7, 1))]
    days = search_days(["Anax ephippiger"], [], CHECKLIST, seen=seen)
    assert day_and_month(days.first) == "06-17"
    assert search_days(["Anax ephippiger"], [], CHECKLIST) is None


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 2**32 - 1))
def test_clusters_divide_the_places_and_stay_within_their_radius(seed):
    random = np.random.default_rng(seed)
    latitude = 53.9 + random.uniform(-0.02, 0.02, 40)
    longitude = 21.7 + random.uniform(-0.02, 0.02, 40)
    weight = random.integers(1, 4, 40).astype(float)
    names = [f"g{index:02d}" for index in range(40)]
    found = clusters_within(latitude, longitude, weight, names, 400.0)
    assert sorted(member for cluster in found for member in cluster.members) == list(range(40))
    for cluster in found:
        leader = max(cluster.members, key=lambda index: (weight[index], -index))
        for member in cluster.members:
            away = Geodesic.WGS84.Inverse(
                latitude[leader], longitude[leader], latitude[member], longitude[member]
            )["s12"]
            assert away <= 402.0
        assert cluster.radius <= 804.0


@settings(max_examples=20, deadline=None)
@given(st.permutations(range(8)))
def test_the_order_of_sightings_changes_nothing(order):
    seen = [*group(4), *group(4, north=0.4, life_stage="teneral")]
    assert priorities([seen[index] for index in order], [site("A")]) == priorities(
        seen, [site("A")]
    )


def test_a_sighting_at_a_known_site_makes_no_second_place_of_it():
    """Six passes found none of it: "none" is likeliest, but the place is the site itself."""
    seen = group(3, north=0.0)
    found = priorities(seen, [site("A")], [visit("V1", "A", "2026-06-10", 6)])
    assert [one.location_id for one in found] in ([], ["A"])


def test_a_hidden_site_does_not_make_none_the_likeliest():
    """A release leaves out its row; what is left must not send people to look for it."""
    seen, near = [sighting(life_stage="teneral")], [site("A", 0.001)]
    rows = list(match_sightings(seen, near, [], [], CHECKLIST))
    assert rows[0].location_id == "A"
    kept = [row for row in rows if not row.location_id]
    loose = PrioritySettings(least_score=0.0)
    found = search_priorities(seen, kept, [], [], [], CHECKLIST, year=2026, settings=loose)
    assert found == []
