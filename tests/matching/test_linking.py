"""Whole matches: terms, shares, seasons, names, and what must not change them."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from making import CHECKLIST, lot, sighting, site, visit

from triage.exuviae import Site
from triage.matching import Match, MatchingSettings, match_sightings
from triage.sightings import Sighting


def matches(seen: Sighting, sites: list[Site], visits=(), lots=(), **options) -> list[Match]:
    return list(match_sightings([seen], sites, visits, lots, CHECKLIST, **options))


def test_the_likelihood_is_the_product_and_the_shares_sum_to_one():
    rows = matches(
        sighting(),
        [site("A", 0.001), site("B", 0.01), site("C", 0.02)],
        [visit("V1", "A", "2026-06-10"), visit("V2", "B", "2026-06-10")],
        [lot("L1", "V1", "Anax imperator"), lot("L2", "V2", "Aeshna mixta")],
    )
    assert rows[-1].location_id == ""
    for row in rows:
        product = row.presence * row.abundance * row.movement_density
        assert row.likelihood == pytest.approx(product)
        assert row.share == pytest.approx(row.likelihood / sum(other.likelihood for other in rows))
    assert sum(row.share for row in rows) == pytest.approx(1.0)
    assert rows[0].location_id == "A"


def test_distance_has_its_least_and_most_from_both_uncertainties():
    row = matches(sighting(), [site("A", 0.002)])[0]
    assert row.distance == pytest.approx(222.6, abs=0.1)  # 0.002 of 111,312 m a degree at 53.9 N
    assert row.distance_least == pytest.approx(row.distance - 50.0)
    assert row.distance_most == pytest.approx(row.distance + 50.0)
    assert matches(sighting(), [site("A")])[0].distance_least == 0.0


@pytest.mark.parametrize(
    ("adult", "collected", "season", "days"),
    [
        ("2026-06-20", "2026-06-10", "this season", (10, 10)),
        ("2026-06-20", "2026-07-10", "this season", (-20, -20)),  # skins last for weeks
        ("2026-06-20", "2026-08-15", "outside", (-56, -56)),  # left after the adult was seen
        ("2026-09-08", "2026-06-10", "this season", (90, 90)),
        ("2026-09-09", "2026-06-10", "outside", (91, 91)),  # at most 90 days a mature adult
        ("2026-06-20", "2025-06-10", "other season", (375, 375)),
        ("2026-06", "2026-06-10", "this season", (-9, 20)),
        ("", "2026-06-10", "no date", None),
    ],
)
def test_an_adult_can_have_emerged_where_the_dates_of_the_skins_allow_it(
    adult, collected, season, days
):
    row = matches(
        sighting(day=adult),
        [site("A")],
        [visit("V1", "A", collected)],
        [lot("L1", "V1", "Anax imperator")],
    )[0]
    assert row.season == season
    assert (row.days_least, row.days_most) == (days or (None, None))
    assert row.breeding_evidence == "exuviae"  # the second question, whatever the dates say
    assert row.exuviae_years == (int(collected[:4]),)


def test_exuviae_of_an_earlier_year_still_count_where_this_years_dates_do_not_fit():
    row = matches(
        sighting(),
        [site("A")],
        [visit("V1", "A", "2026-09-10"), visit("V2", "A", "2025-06-10")],
        [lot("L1", "V1", "Anax imperator"), lot("L2", "V2", "Anax imperator", count=2)],
    )[0]
    assert row.season == "other season"
    assert (row.exuviae_count, row.exuviae_years) == (7, (2025, 2026))


def test_an_overwintered_adult_in_spring_fits_the_skins_of_last_summer():
    here = [site("A")], [visit("V1", "A", "2025-08-01")]
    spring = sighting("Sympecma fusca", "2026-04-20")
    assert matches(spring, *here, [lot("L1", "V1", "Sympecma fusca")])[0].season == "this season"
    other = sighting("Coenagrion puella", "2026-04-20")
    assert matches(other, *here, [lot("L1", "V1", "Coenagrion puella")])[0].season == "other season"


def test_a_teneral_emerged_within_days_and_nearby():
    place = [site("A", 0.01)], [visit("V1", "A", "2026-06-10")], [lot("L1", "V1", "Anax imperator")]
    adult = matches(sighting(), *place)[0]
    teneral = matches(sighting(life_stage="teneral adult"), *place)
    assert adult.location_id == "A"
    # 1.1 km is out of reach of one that has just flown, unless they fly twice as far as stated.
    assert teneral[-1].share > 0.99
    near = matches(sighting(behavior="teneral"), [site("A")], *place[1:])[0]
    assert near.kernel == "teneral"
    assert near.season == "outside"  # collected ten days before it emerged


@pytest.mark.parametrize(
    ("found", "rank", "agreement", "at_rank"),
    [
        ("Anax imperator", "species", "same", "species"),
        ("Anax", "genus", "compatible", "genus"),
        ("Aeshnidae", "family", "compatible", "family"),
        ("Anisoptera", "suborder", "compatible", "suborder"),
        ("Aeshna mixta", "species", "conflicting", "genus"),
        ("Coenagrion puella", "species", "conflicting", "suborder"),
        ("Felis catus", "species", "unknown", ""),
    ],
)
def test_taxa_agree_at_the_coarser_rank(found, rank, agreement, at_rank):
    row = matches(
        sighting(), [site("A")], [visit("V1", "A", "2026-06-10")], [lot("L1", "V1", found, rank)]
    )[0]
    assert (row.taxon_agreement, row.agreement_rank) == (agreement, at_rank)


@pytest.mark.parametrize(
    ("found", "agreement", "at_rank"),
    [
        (["Aeshna mixta", "Anax imperator"], "same", "species"),
        (["Aeshnidae", "Anax", "Aeshna mixta"], "compatible", "genus"),
        (["Coenagrion puella", "Felis catus"], "unknown", ""),
        (["Coenagrion puella", "Aeshna mixta"], "conflicting", "genus"),
        ([], "unknown", ""),
    ],
)
def test_of_several_lots_the_best_agreement_at_the_finest_rank_stands(found, agreement, at_rank):
    """An unknown name may be this very taxon, so it comes before one that is another."""
    ranks = {"Aeshnidae": "family", "Anax": "genus"}
    lots = [
        lot(f"L{number}", "V1", name, ranks.get(name, "species"))
        for number, name in enumerate(found)
    ]
    row = matches(sighting(), [site("A")], [visit("V1", "A", "2026-06-10")], lots)[0]
    assert (row.taxon_agreement, row.agreement_rank) == (agreement, at_rank)


def test_presence_falls_the_coarser_the_name_of_the_skins():
    """Own skins prove it; those of a genus say that one of its species is there, and so on."""
    presence = [
        matches(
            sighting(),
            [site("A")],
            [visit("V1", "A", "2026-06-10")],
            [lot("L1", "V1", found, rank)],
        )[0].presence
        for found, rank in (
            ("Anax imperator", "species"),
            ("Anax", "genus"),
            ("Aeshnidae", "family"),
        )
    ]
    presence.append(matches(sighting(), [site("A")], [visit("V1", "A", "2026-06-10")])[0].presence)
    assert presence[0] == 1.0
    assert presence == sorted(presence, reverse=True)
    assert presence[1] > presence[2] > presence[3]


def test_synonyms_are_resolved_on_both_sides():
    rows = matches(
        sighting("Aeshna isoceles"),
        [site("A")],
        [visit("V1", "A", "2026-06-10")],
        [lot("L1", "V1", "Anaciaeschna isoceles")],
    )
    assert rows[0].taxon_agreement == "same"


def test_a_name_in_doubt_is_compared_at_the_genus():
    row = matches(
        sighting(qualifier="cf. imperator"),
        [site("A")],
        [visit("V1", "A", "2026-06-10")],
        [lot("L1", "V1", "Anax imperator")],
    )[0]
    assert (row.taxon_agreement, row.agreement_rank) == ("compatible", "genus")


def test_skins_named_in_doubt_are_compared_at_the_genus():
    row = matches(
        sighting(),
        [site("A")],
        [visit("V1", "A", "2026-06-10")],
        [lot("L1", "V1", "Anax imperator", identification_qualifier="cf. imperator")],
    )[0]
    assert (row.taxon_agreement, row.agreement_rank) == ("compatible", "genus")


def test_the_suborder_seen_on_the_photo_serves_where_the_name_does_not_tell_it():
    here = [site("A")]
    unlisted = sighting("Felis catus", suborder="zygoptera")
    assert matches(unlisted, here)[0].kernel == "Zygoptera"
    to_order = sighting("Odonata", taxon_rank="order", suborder="anisoptera")
    assert matches(to_order, here)[0].kernel == "Anisoptera"
    assert matches(sighting(suborder="zygoptera"), here)[0].kernel == "Anisoptera"


def test_searches_that_found_nothing_are_told_from_no_search():
    searched, never = (
        matches(sighting(), [site("A")], visits)[0]
        for visits in ([visit("V1", "A", "2026-06-10")], [])
    )
    assert (searched.breeding_evidence, never.breeding_evidence) == ("not found", "not searched")
    assert searched.presence < never.presence
    empty = matches(
        sighting(),
        [site("A")],
        [visit("V1", "A", "2026-06-10")],
        [lot("L1", "V1", "Anax imperator", count=0)],
    )[0]
    assert empty.breeding_evidence == "not found"


def test_effort_counts_by_its_passes_and_only_in_the_days_of_the_taxon():
    """A pass in October says nothing of Anax imperator; thirty in May and June nearly all."""

    def row(visits):
        return matches(sighting(), [site("A")], visits)[0]

    never = row([])
    october = row([visit("V1", "A", "2026-10-20", 1)])
    once, six, thirty = (row([visit("V1", "A", "2026-06-10", made)]) for made in (1, 6, 30))
    assert (october.passes, once.passes, thirty.passes) == (0, 1, 30)
    assert october.breeding_evidence == "not searched"
    assert october.presence == never.presence
    assert never.presence > once.presence > six.presence > thirty.presence
    assert thirty.presence < 1e-6
    assert six.share < 0.5 < never.share  # 1.00 before effort counted
    assert "no exuviae of it in 6 passes in its days" in six.reason


@pytest.mark.parametrize("radius", [40.0, 150.0, 500.0])
@pytest.mark.parametrize("away", [0.0, 0.0005, 0.0045, 0.01])
@pytest.mark.parametrize("taxon", ["Anax imperator", "Coenagrion puella"])
def test_one_lake_gives_one_answer_as_a_polygon_and_as_a_point_with_its_radius(radius, away, taxon):
    turns = np.linspace(0, 2 * np.pi, 65)
    north, east = radius / 111_312.0, radius / 65_700.0  # degrees at 53.9 N
    edge = ", ".join(
        f"{21.7 + east * np.cos(turn):.8f} {53.9 + north * np.sin(turn):.8f}" for turn in turns
    )
    point = site("A", coordinate_uncertainty_in_meters=radius)
    seen = sighting(taxon, north=away)
    drawn = matches(seen, [replace(point, footprint_wkt=f"POLYGON (({edge}))")])[0]
    assert drawn.share == pytest.approx(matches(seen, [point])[0].share, rel=0.03, abs=0.005)


def test_a_coarser_name_sums_over_the_taxa_that_it_may_be():
    """Skins of one species prove one of its terms; the others stay as likely as psi."""
    place = [site("A"), site("B", 0.003)], [visit("V1", "A", "2026-06-10")]
    skins = [lot("L1", "V1", "Aeshna mixta")]
    both = matches(sighting("Aeshnidae", taxon_rank="family"), *place, skins)
    each = {
        name: {row.location_id: row.presence for row in matches(sighting(name), *place, skins)}
        for name in ("Anax imperator", "Anaciaeschna isoceles", "Aeshna mixta")
    }
    flying = [name for name in each if name != "Aeshna mixta"]  # which flies from day 200 on
    for row in both:
        if row.location_id:
            assert row.presence == pytest.approx(
                np.mean([each[name][row.location_id] for name in flying])
            )


def test_of_several_taxa_only_those_that_fly_on_the_day_are_meant():
    place = [site("A")], [visit("V1", "A", "2026-08-10")], [lot("L1", "V1", "Aeshna mixta")]
    june, august = (
        matches(sighting("Aeshnidae", day, taxon_rank="family"), *place)[0]
        for day in ("2026-06-20", "2026-08-20")
    )
    assert june.presence < august.presence


def test_a_water_with_more_skins_per_pass_weighs_more():
    sites = [site("A", 0.002), site("B", -0.002)]
    visits = [visit("V1", "A", "2026-06-10", 2), visit("V2", "B", "2026-06-10", 2)]
    lots = [
        lot("L1", "V1", "Anax imperator", count=40),
        lot("L2", "V2", "Anax imperator", count=4),
    ]
    rich, poor, _ = matches(sighting(), sites, visits, lots)
    assert (rich.location_id, poor.location_id) == ("A", "B")
    assert rich.abundance > 1 > poor.abundance
    # Gamma-Poisson with shape 1 and mean 11 a pass: (1 + 40)/(1 + 22) and (1 + 4)/(1 + 22).
    assert (rich.abundance, poor.abundance) == pytest.approx((41 / 23, 5 / 23))


def test_an_undetermined_sighting_is_matched_on_place_and_season_alone_and_says_so():
    row = matches(
        sighting("", suborder="anisoptera"),
        [site("A")],
        [visit("V1", "A", "2026-06-10")],
        [lot("L1", "V1", "Aeshna mixta"), lot("L2", "V1", "Coenagrion puella")],
    )[0]
    assert (row.taxon_agreement, row.season, row.kernel) == ("unknown", "this season", "Anisoptera")
    assert row.exuviae_count == 5
    assert "on place and season alone" in row.reason


def test_a_migrant_is_matched_with_no_site():
    rows = matches(sighting("Anax ephippiger"), [site("A")])
    assert [(row.location_id, row.share) for row in rows] == [("", 1.0)]
    assert "migrant" in rows[0].reason


@pytest.mark.parametrize(
    "nowhere",
    [
        {"decimal_latitude": None},
        {"decimal_longitude": None},
        {"decimal_latitude": float("nan")},
        {"decimal_latitude": 91.0},
    ],
)
def test_a_sighting_without_usable_coordinates_gets_no_rows(nowhere):
    assert matches(sighting(**nowhere), [site("A")]) == []


def test_beyond_reach_the_nearest_site_is_only_named():
    (row,) = matches(sighting(), [site("A", 0.5), site("B", 0.4)])
    assert (row.location_id, row.share) == ("", 1.0)
    assert "B Pool, is 45 km away" in row.reason


def test_the_sentence_keeps_the_name_of_a_private_or_sensitive_site():
    for kept in ({"private": True}, {"sensitivity": "2"}):
        row = matches(sighting(), [site("A", **kept)])[0]
        assert "Pool" not in row.reason
        assert " A " in row.reason


def test_at_most_so_many_sites_are_named_and_the_likeliest_always():
    many = [site(f"S{n:02d}", n / 2000) for n in range(30)]
    rows = matches(sighting(), many, settings=MatchingSettings(most_sites=3, least_share=0.0))
    assert [row.location_id for row in rows] == ["S00", "S01", "S02", ""]
    everything = matches(
        sighting(), many, settings=MatchingSettings(most_sites=30, least_share=0.0)
    )
    left_out = sum(row.share for row in everything if row.location_id > "S02")
    assert f"27 more sites in reach would add at most {left_out:.2f}." in rows[-1].reason
    far = matches(
        sighting(),
        [site("A", 0.05)],
        settings=MatchingSettings(unknown_sites_per_square_kilometre=0.001, least_share=0.4),
    )
    assert far[0].location_id == "A"
    assert sum(row.share for row in far) == pytest.approx(1.0)


def test_more_unknown_waters_leave_less_to_the_known_ones():
    shares = [
        matches(
            sighting(),
            [site("A", 0.01)],
            settings=MatchingSettings(unknown_sites_per_square_kilometre=density),
        )[0].share
        for density in (0.05, 0.1, 0.2)
    ]
    assert shares[0] > shares[1] > shares[2]


@settings(max_examples=15, deadline=None)
@given(st.permutations(range(6)), st.permutations(range(6)))
def test_the_order_of_sites_visits_and_lots_changes_nothing(one, other):
    sites = [site(f"S{n}", n / 300) for n in range(6)]
    visits = [visit(f"V{n}", f"S{n}", f"2026-06-{10 + n}") for n in range(6)]
    lots = [lot(f"L{n}", f"V{n}", ["Anax imperator", "Aeshna mixta"][n % 2]) for n in range(6)]
    shuffled = matches(
        sighting(),
        [sites[n] for n in one],
        [visits[n] for n in other],
        [lots[n] for n in one],
    )
    assert shuffled == matches(sighting(), sites, visits, lots)


def test_many_sightings_give_the_same_rows_as_each_alone():
    sites = [site(f"S{n}", n / 200) for n in range(5)]
    seen = [
        sighting(taxon, day, identifier=f"g{n}", decimal_latitude=53.9 + n / 500)
        for n, (taxon, day) in enumerate(
            [
                ("Anax imperator", "2026-06-20"),
                ("", "2026-06-20"),
                ("Coenagrion puella", ""),
                ("Anax imperator", "2026-07-20"),
            ]
        )
    ]
    together = list(match_sightings(seen, sites, [], [], CHECKLIST))
    alone = [row for one in seen for row in match_sightings([one], sites, [], [], CHECKLIST)]
    assert together == alone


def test_a_survey_without_sites_says_so():
    (row,) = matches(sighting(), [])
    assert "no sites yet" in row.reason


def test_shores_weighed_in_small_blocks_give_the_same_shares(monkeypatch):
    edge = "POLYGON ((21.69 53.90, 21.71 53.90, 21.71 53.91, 21.69 53.91, 21.69 53.90))"
    sites = [site("A", footprint_wkt=edge), site("B", 0.004), site("C", 0.01, footprint_wkt=edge)]
    seen = [sighting(identifier=f"g{n}", north=n / 900) for n in range(9)]
    whole = list(match_sightings(seen, sites, [], [], CHECKLIST))
    monkeypatch.setattr("triage.matching.likelihood.BLOCK", 50)
    assert list(match_sightings(seen, sites, [], [], CHECKLIST)) == whole
