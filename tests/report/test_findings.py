"""The numbers of a report are those of the functions, on the records that may be spoken of."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from report_making import FAST, content, material, measurements

from triage.checklist import Checklist
from triage.estimates import richness
from triage.estimates.accumulation import coverage, expected_taxa
from triage.estimates.agreement import agreement_at
from triage.estimates.biotic_index import rank_correlation
from triage.estimates.hill_numbers import hill_number
from triage.estimates.season import em50, season_of
from triage.estimates.similarity import compare_lists
from triage.exports import ExportContent, SurveyMetadata
from triage.matching import search_priorities, sensitivity, site_evidence
from triage.matching.sensitivity import SCENARIOS
from triage.report import absences
from triage.report.findings import Findings, find, latest_year
from triage.report.material import Material
from triage.report.samples import finest_names


@pytest.fixture(scope="module")
def inside() -> Material:
    return material(
        internal=True, measurements=measurements(), scores={"ours": {"Coenagrion puella": 3.0}}
    )


@pytest.fixture(scope="module")
def found(inside: Material) -> Findings:
    return find(inside)


def test_what_an_export_hides_is_not_part_of_the_figures():
    shown = material().content
    assert {s.location_id for s in shown.sites} == {"HM", "AP"}
    assert {v.location_id for v in shown.visits} == {"HM", "AP"}
    assert "X6" not in {lot.catalog_number for lot in shown.lots}
    assert {s.identifier for s in shown.sightings} == {
        "s01", "s02", "s03", "s04", "s05", "s06", "s09", "s10",
    }  # fmt: skip
    assert {m.sighting for m in shown.matches} <= {s.identifier for s in shown.sightings}
    assert {m.location_id for m in shown.matches} <= {"", "HM", "AP"}


def test_an_internal_report_is_made_from_everything():
    whole, shown = content(), material(internal=True).content
    assert len(shown.sites) == len(whole.sites)
    assert len(shown.sightings) == len(whole.sightings)


def test_the_evidence_is_that_of_matching(inside: Material, found: Findings):
    here = inside.content
    assert found.evidence == tuple(
        site_evidence(here.sightings, here.sites, here.visits, here.lots, inside.checklist)
    )


def test_a_genus_beside_its_species_is_no_further_taxon(found: Findings):
    assert found.exuviae.taxa == (
        "Anax imperator", "Coenagrion hastulatum", "Coenagrion puella", "Leucorrhinia pectoralis",
    )  # fmt: skip
    assert found.exuviae.left_out == 4
    assert int(found.exuviae.counts.sum()) == 12 + 9 + 3 + 20 + 5 + 1


def test_finest_names_keep_a_genus_that_stands_alone():
    checklist = Checklist(content().taxa)
    assert finest_names(["Coenagrion", "Anax imperator", "Aeshnidae"], checklist) == {
        "Coenagrion", "Anax imperator",
    }  # fmt: skip


def test_every_visit_is_a_sample_also_one_that_found_nothing(found: Findings):
    assert found.exuviae.units == ("V1", "V2", "V3", "V4", "V5", "V6", "V7")
    assert found.exuviae.counts.any(1).sum() == 5


def test_richness_estimates_are_those_of_the_functions(found: Findings):
    abundance = [9, 1, 35, 5]
    frequency = [1, 1, 3, 1]
    got = {
        r.estimator: r.estimate for r in found.richness if (r.record, r.scope) == ("exuviae", "all")
    }
    assert got["Chao1, classic"].value == richness.chao1(abundance, variant="classic").value
    plain = richness.chao2(frequency, 7, variant="bias-corrected")
    assert got["Chao2, bias-corrected"].value == plain.value
    # A number of taxa is whole.
    assert got["Chao2, bias-corrected"].low == math.floor(plain.low)
    assert got["Chao2, bias-corrected"].high == math.ceil(plain.high)
    assert got["ACE"].value == richness.ace(abundance).value
    assert got["ICE"].value == richness.ice(frequency, 7, samples_with_rare=5).value
    assert got["jackknife 2"].value == richness.jackknife(frequency, 7, order=2).value
    assert got["bootstrap"].value == richness.bootstrap(frequency, 7).value
    assert len(got) == 11


def test_intervals_of_richness_never_fall_below_what_was_observed(found: Findings):
    for row in found.richness:
        if not math.isnan(row.estimate.low):
            assert row.observed <= row.estimate.low < row.estimate.high
        elif row.samples < 5:
            assert row.estimate.note == "too few visits"


def test_coverage_and_curves_are_those_of_the_functions(found: Findings):
    whole = next(c for c in found.coverage if (c.record, c.scope) == ("exuviae", "all"))
    assert whole.coverage.value == pytest.approx(coverage([9, 1, 35, 5]))
    curve = [c for c in found.curves if (c.record, c.by) == ("exuviae", "samples")]
    assert [c.size for c in curve] == list(range(1, 15))  # to twice the seven visits
    np.testing.assert_allclose(
        [c.estimate.value for c in curve],
        [expected_taxa([1, 1, 3, 1], 7, size=size) for size in range(1, 15)],
    )
    assert all(c.estimate.low <= c.estimate.value <= c.estimate.high for c in curve)


def test_diversity_is_compared_at_the_least_coverage_of_enough_visits(found: Findings):
    whole = [r for r in found.diversity if (r.record, r.scope) == ("exuviae", "all")]
    assert [r.diversity.order for r in whole] == [0, 1, 2]
    for row in whole:
        order = row.diversity.order
        assert row.diversity.observed == hill_number([1, 1, 3, 1], 7, order=order)
        assert row.diversity.alike.value == pytest.approx(row.diversity.observed)  # none but it
    few = [r for r in found.diversity if r.samples < 5]
    assert few
    assert {r.diversity.estimated.note for r in few} == {"too few visits"}


def test_lists_compare_species_with_species_and_genera_with_genera(found: Findings):
    at = {(one.location_id, one.rank): one for one in found.lists}
    species, genus = at[("AP", "species")], at[("AP", "genus")]
    assert species.comparison == compare_lists(
        ["Coenagrion puella", "Aeshna mixta", "Leucorrhinia pectoralis"],
        ["Coenagrion puella", "Coenagrion hastulatum"],
    )
    assert species.coarser == 1
    assert genus.comparison == compare_lists(
        ["Coenagrion", "Aeshna", "Leucorrhinia"], ["Coenagrion"]
    )


def test_seasons_are_those_of_the_functions(found: Findings):
    at = {(row.scientific_name, row.record, row.year): row for row in found.seasons}
    row = at[("Coenagrion puella", "exuviae", 2026)]
    days, counts = [144, 163, 156], [12, 3, 20]
    assert row.season == season_of(days, counts)
    assert row.em50 is not None
    assert row.em50.value == em50(days, counts, seed=1).value == 12
    assert ("Anax imperator", "adults", 2026) in at


def test_an_undated_sighting_has_no_season_and_is_no_sample(found: Findings):
    assert sum(row.season.records for row in found.seasons if row.record == "adults") == 8
    assert len(found.adults.units) == 9


def test_few_repeated_searches_leave_the_stated_detection(inside: Material, found: Findings):
    assert found.detection.value == FAST.detection_per_pass
    stated = replace(inside, settings=replace(FAST, detection_per_pass=0.3))
    assert absences.effort_of(stated).detection.value == 0.3


def test_an_absence_follows_from_the_passes_in_the_days_of_its_emergence(found: Findings):
    at = {(one.location_id, one.scientific_name): one for one in found.absences}
    absent = at[("AP", "Aeshna mixta")]
    assert (absent.visits, absent.passes) == (3, 1)  # 20 July; the others lie before its season
    assert absent.missed == pytest.approx(0.36)
    assert absent.absent == pytest.approx(1 / 1.36)
    assert absent.absent_low < absent.absent < absent.absent_high
    assert ("AP", "Coenagrion puella") not in at


def test_agreement_is_that_of_the_function_with_coarser_names_as_an_answer(found: Findings):
    by_rank = {one.rank: one for one in found.agreement}
    assert by_rank["species"] == agreement_at(
        "species",
        {
            "Anna Wilga": {
                "s01": "Anax imperator", "s02": "Coenagrion puella",
                "s03": "Coenagrion puella", "s04": "Aeshna mixta",
            },
            "Marek Olszak": {
                "s01": "Anax imperator", "s02": "Coenagrion hastulatum",
                "s03": "Coenagrion puella", "s04": "cannot tell",
            },
        },
    )  # fmt: skip
    assert by_rank["species"].raw.value == 0.5
    assert by_rank["genus"].raw.value == 0.75


def test_sensitivity_is_that_of_matching(inside: Material, found: Findings):
    assert found.sensitivity == tuple(sensitivity(inside.content.matches))
    assert {(one.unknown, one.scale) for one in found.sensitivity} == set(SCENARIOS)


def test_adults_far_from_every_site_are_a_gap_worth_a_search(inside: Material, found: Findings):
    gap = next(one for one in found.priorities if one.kind == "no known site")
    assert (gap.sightings, gap.tenerals) == (2, 1)
    here = inside.content
    same = search_priorities(
        here.sightings, here.matches, here.sites, here.visits, here.lots, inside.checklist,
        year=2026,
    )  # fmt: skip
    assert [one.score for one in found.priorities][: len(same)] == [one.score for one in same]


def test_released_places_of_priorities_lie_on_the_grid():
    for one in find(material()).priorities:
        assert one.location_id in ("", "HM", "AP")
        if one.decimal_latitude is not None:
            assert round(one.decimal_latitude, 3) == pytest.approx(one.decimal_latitude, abs=1e-12)


def test_measurements_are_ranked_against_what_was_found(found: Findings):
    row = next(c for c in found.correlations if c.against == "taxa found as exuviae")
    assert row.correlation == rank_correlation([290.0, 310.0, 40.0], [2.0, 2.0, 1.0])
    assert row.correlation.pairs == 3
    values = {one.location_id: one.median for one in found.values}
    assert values == {"AP": 290.0, "HM": 310.0, "SM": 40.0}
    sums = {one.location_id: one.index.total for one in found.indices}
    assert sums == {"AP": 3.0, "HM": 3.0, "SM": 0.0}


def test_nearness_needs_a_taxon_with_exuviae(found: Findings):
    species = next(one for one in found.nearness if one.rank == "species")
    # Aeshna mixta has none, s09 no name.
    assert species.adults == 8
    assert species.test.seed == FAST.seed
    assert species.test.p == pytest.approx((round(species.test.p * 100)) / 100)


def test_the_same_material_gives_the_same_findings(inside: Material, found: Findings):
    again = find(inside)
    assert repr(again.richness) == repr(found.richness)
    assert repr(again.curves) == repr(found.curves)
    assert repr(again.nearness) == repr(found.nearness)


def test_an_empty_survey_has_findings_without_numbers():
    nothing = material(ExportContent(survey=SurveyMetadata(title="Empty")))
    made = find(nothing)
    assert latest_year(nothing) == 0
    assert (made.evidence, made.richness, made.priorities, made.curves) == ((), (), (), ())
