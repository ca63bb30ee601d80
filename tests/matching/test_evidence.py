"""What each site has as evidence that a taxon breeds there."""

import pytest
from making import CHECKLIST, lot, sighting, site, visit

from triage.errors import UnknownError
from triage.matching import (
    EvidenceSettings,
    adults_at_sites,
    behaviour_of,
    published_schemes,
    scheme_named,
    site_evidence,
    strongest_evidence,
)


def evidence(sightings=(), sites=None, visits=(), lots=(), **options):
    found = site_evidence(sightings, sites or [site("A")], visits, lots, CHECKLIST, **options)
    return [(one.scientific_name, one.year, one.evidence, one.count) for one in found]


def test_exuviae_are_counted_by_taxon_and_year_with_their_days():
    records = site_evidence(
        [],
        [site("A")],
        [visit("V1", "A", "2026-06-10"), visit("V2", "A", "2026-06-20")],
        [lot("L1", "V1", "Anax imperator"), lot("L2", "V2", "Anax imperator", count=7)],
        CHECKLIST,
    )
    (record,) = records
    assert (record.count, record.first_day, record.last_day) == (12, "2026-06-10", "2026-06-20")
    assert record.evidence_class == "confirmed"


@pytest.mark.parametrize(
    ("said", "kind"),
    [
        ({"life_stage": "teneral"}, "teneral"),
        ({"behavior": "Ovipositing in tandem"}, "oviposition"),
        ({"behavior": "tandem"}, "pair"),
        ({"behavior": "mating wheel"}, "pair"),
        ({"behavior": "perched"}, ""),
    ],
)
def test_behaviour_is_read_for_its_strongest_meaning(said, kind):
    assert behaviour_of(sighting(**said)) == kind


def test_the_classes_are_those_of_the_published_criteria():
    """British criteria of 2004: exuvia confirms; teneral or oviposition probable; pair possible."""
    british, central_european = published_schemes()
    assert [british.classes[kind] for kind in ("exuviae", "teneral", "oviposition", "pair")] == [
        "confirmed",
        "probable",
        "probable",
        "possible",
    ]
    assert central_european.classes["teneral"] == "certain"
    assert all(scheme.source for scheme in published_schemes())


@pytest.mark.parametrize(
    ("name", "meant"), [("", 0), ("british", 0), (" Brit ", 0), ("CENTRAL", 1), ("central eur", 1)]
)
def test_classes_are_named_by_how_they_begin(name: str, meant: int):
    assert scheme_named(name) == published_schemes()[meant]


def test_classes_of_another_name_are_refused_with_the_names_there_are():
    with pytest.raises(UnknownError) as refused:
        scheme_named("european")
    assert all(scheme.name in refused.value.next_step for scheme in published_schemes())


def test_adults_are_evidence_in_their_season_and_stand_apart_out_of_it():
    seen = [sighting(identifier="g1"), sighting(identifier="g2", day="2026-12-01")]
    assert evidence(seen) == [
        ("Anax imperator", 2026, "adults", 1),
        ("Anax imperator", 2026, "adults out of season", 1),
    ]


def test_an_adult_that_waits_for_a_second_look_is_listed_as_that_and_is_no_more():
    """Not its behaviour, not a search for it, not skins of its genus: its name may be another."""
    waiting = {"state": "second opinion", "life_stage": "teneral"}
    found = evidence(
        [sighting("Aeshna mixta", "2026-08-01", **waiting)],
        visits=[visit("V1", "A", "2026-06-10")],
        lots=[lot("L1", "V1", "Aeshna", "genus", 3)],
    )
    assert found == [
        ("Aeshna", 2026, "exuviae", 3),
        ("Aeshna mixta", 2026, "waiting for a second look", 1),
    ]


def test_another_scheme_gives_other_classes():
    records = site_evidence(
        [sighting(life_stage="teneral")],
        [site("A")],
        [],
        [],
        CHECKLIST,
        settings=EvidenceSettings(scheme=published_schemes()[1]),
    )
    assert [record.evidence_class for record in records] == ["certain"]


def test_a_search_that_did_not_find_the_adults_taxon_is_listed():
    visits = [visit("V1", "A", "2026-06-10"), visit("V2", "A", "2026-07-10")]
    found = evidence([sighting()], visits=visits, lots=[lot("L1", "V1", "Coenagrion puella")])
    assert ("Anax imperator", 2026, "searched and not found", 2) in found
    assert ("Coenagrion puella", 2026, "searched and not found", 2) not in found


def test_a_lot_of_none_says_that_the_taxon_was_looked_for():
    found = evidence(
        visits=[visit("V1", "A", "2026-06-10")], lots=[lot("L1", "V1", "Aeshna mixta", count=0)]
    )
    assert found == [("Aeshna mixta", 2026, "searched and not found", 1)]


def test_skins_named_to_the_genus_are_neither_proof_nor_a_search_without_finds():
    found = evidence(
        [sighting("Aeshna mixta", "2026-08-01")],
        visits=[visit("V1", "A", "2026-06-10")],
        lots=[lot("L1", "V1", "Aeshna", "genus", 3)],
    )
    assert found == [
        ("Aeshna", 2026, "exuviae", 3),
        ("Aeshna mixta", 2026, "exuviae to a coarser rank", 3),
        ("Aeshna mixta", 2026, "adults", 1),
    ]


def test_names_in_doubt_count_for_the_genus_and_synonyms_for_the_accepted_name():
    seen = [
        sighting(qualifier="cf.", identifier="g1"),
        sighting("Aeshna isoceles", identifier="g2"),
        sighting("", identifier="g3"),
    ]
    assert [(name, kind) for name, _, kind, _ in evidence(seen)] == [
        ("Anaciaeschna isoceles", "adults"),
        ("Anax", "adults"),
    ]


@pytest.mark.parametrize(
    ("seen", "at"),
    [
        (sighting(), ["A"]),
        (sighting(north=0.0007), ["A"]),  # 78 m, of which the site's own circle takes 30
        (sighting(north=0.0008), []),  # 89 m
        (sighting(coordinate_uncertainty_in_meters=2000.0), []),
        (sighting(coordinate_uncertainty_in_meters=2000.0, location_id="A"), ["A"]),
        (sighting(decimal_latitude=None), []),
        (sighting(decimal_latitude=None, location_id="A"), ["A"]),
        (sighting(north=0.0019), ["B"]),  # 211 m from A, 11 m from B
    ],
)
def test_an_adult_is_at_the_nearest_site_whose_bank_it_is_on(seen, at):
    places = [site("A"), site("B", 0.002)]
    assert [place for _, place in adults_at_sites([seen], places)] == at


def test_the_strongest_evidence_of_a_taxon_wins_whatever_its_year():
    records = site_evidence(
        [sighting(day="2026-06-20"), sighting(day="2025-06-20", life_stage="teneral")],
        [site("A")],
        [visit("V1", "A", "2026-06-10")],
        [],
        CHECKLIST,
    )
    best = strongest_evidence(records)[("A", "Anax imperator")]
    assert (best.evidence, best.year) == ("teneral", 2025)


def test_records_of_unknown_sites_and_undated_sightings_count_for_nothing():
    assert evidence([sighting(day="")], lots=[lot("L1", "V9", "Anax imperator")]) == []
