"""Richness against published data sets.

Spider counts: Ellison et al. 2010; Sackett et al. 2011, used in Chao et al. 2014 (the published
43.893 and 61.403 with SE 14.306 and 18.532 from memory). Barro Colorado trees: Condit et al. 2002,
values computed with the R package vegan 2.6-4 (specpool, estimateR). Dune meadow: the same.
Cottontails: Edwards & Eberhardt 1967, in Chao 1987.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from estimates_data import BCI, BCI_SAMPLES, BCI_SITE_1, COTTONTAILS, DUNE, GIRDLED, LOGGED
from hypothesis import given
from hypothesis import strategies as st

from triage.estimates.richness import ace, bootstrap, chao1, chao2, ice, jackknife


@pytest.mark.parametrize(
    ("counts", "small_sample", "error", "classic", "corrected"),
    [
        (GIRDLED, 43.89286, 14.30558, 44.0, 39.2),
        (LOGGED, 61.40278, 18.53155, 61.5, 55.2),
    ],
)
def test_chao1_of_the_spiders(counts, small_sample, error, classic, corrected):
    found = chao1(counts)
    assert found.value == pytest.approx(small_sample, abs=5e-6)
    assert found.standard_error == pytest.approx(error, abs=5e-6)
    assert chao1(counts, variant="classic").value == pytest.approx(classic)
    assert chao1(counts, variant="bias-corrected").value == pytest.approx(corrected)


def test_chao1_and_ace_of_one_forest_plot():
    assert len(BCI_SITE_1) == 93
    assert sum(BCI_SITE_1) == 448
    assert chao1(BCI_SITE_1, variant="bias-corrected").value == pytest.approx(117.473684, abs=1e-6)
    assert ace(BCI_SITE_1).value == pytest.approx(122.848959, abs=1e-6)


def test_ace_of_the_spiders():
    assert ace(GIRDLED).value == pytest.approx(48.41523, abs=5e-6)
    assert ace(LOGGED).value == pytest.approx(52.68499, abs=5e-6)


def test_the_forest_by_samples():
    found = chao2(BCI, BCI_SAMPLES)
    assert found.value == pytest.approx(236.3732, abs=5e-5)
    assert found.standard_error == pytest.approx(6.54361, abs=5e-6)
    classic = chao2(BCI, BCI_SAMPLES, variant="classic")
    assert classic.value == pytest.approx(236.6053, abs=5e-5)
    assert classic.standard_error == pytest.approx(6.659395, abs=5e-6)
    assert jackknife(BCI, BCI_SAMPLES).value == pytest.approx(245.58)
    assert jackknife(BCI, BCI_SAMPLES, order=2).value == pytest.approx(247.8722, abs=5e-5)
    assert bootstrap(BCI, BCI_SAMPLES).value == pytest.approx(235.6862, abs=5e-5)


def test_ice_of_the_forest_by_one_other_implementation():
    found = ice(BCI, BCI_SAMPLES, samples_with_rare=50)
    assert found.value == pytest.approx(239.7009, abs=5e-5)


def test_the_error_of_the_jackknife_is_that_of_leaving_one_out():
    """BCI, uniques of each plot from R (vegan 2.6-4): 4.867895, and the same by leaving one out.

    vegan's own specpool prints 5.650522: it has k/n where Heltshe and Forrester have k squared/n.
    """
    uniques = dict.fromkeys([1, 5, 6, 9, 17, 19, 21, 27, 28, 29, 36, 46], 1)
    uniques |= {12: 3, 18: 2, 22: 2, 40: 2}
    each = [uniques.get(plot, 0) for plot in range(50)]
    assert sum(each) == 21
    found = jackknife(BCI, BCI_SAMPLES, uniques_by_sample=each)
    assert found.standard_error == pytest.approx(4.867895, abs=5e-7)
    assert found.low > 225


def test_the_error_of_chao_bias_corrected_is_the_closed_form():
    """One forest plot: 11.585 in closed form; 11.583785 by the full delta method (vegan 2.6-4)."""
    found = chao1(BCI_SITE_1, variant="bias-corrected")
    assert found.standard_error == pytest.approx(11.585, abs=5e-4)
    f1, f2, observed = 31, 18, 93
    term = (f1 * (f1 + f2) / (2 * (f2 + 1) ** 2)) ** 2 / observed
    full = math.sqrt(found.standard_error**2 - term)
    assert full == pytest.approx(11.583785, abs=2e-3)


@pytest.mark.parametrize(
    ("found", "has_interval"),
    [
        (chao2([1, 1], 1), False),  # "2 (2 to 2)" from one visit
        (chao2([2, 1, 1], 4), False),
        (chao2([2, 1, 1], 5), True),
        (chao2([3, 3, 2], 6), True),  # nothing met once: something may still be missing
        (jackknife([3, 3, 2], 6, uniques_by_sample=[0] * 6), False),
        (chao1([9, 4, 2]), True),
    ],
)
def test_no_interval_closes_on_its_estimate(found, has_interval):
    assert (found.low < found.high) == has_interval
    assert math.isnan(found.low) != has_interval
    assert bool(found.note) != has_interval


def test_every_variant_is_named_by_its_formula():
    assert chao2([2, 1], 9, variant="bias-corrected").variant == "Chao2 S + Q1(Q1-1)/(2(Q2+1))"
    assert chao2([2, 1], 9).variant == "Chao2 S + (m-1)/m Q1^2/(2 Q2)"
    assert chao1([2, 1]).variant == "Chao1 S + (n-1)/n f1^2/(2 f2)"


def test_the_dune_meadow():
    assert chao2(DUNE, 20).value == pytest.approx(32.1375)
    assert chao2(DUNE, 20).standard_error == pytest.approx(3.242503, abs=5e-6)
    assert jackknife(DUNE, 20).value == pytest.approx(32.85)
    assert jackknife(DUNE, 20, order=2).value == pytest.approx(33.84474, abs=5e-6)
    assert bootstrap(DUNE, 20).value == pytest.approx(31.5404, abs=5e-5)


def test_the_cottontails():
    assert chao2(COTTONTAILS, 18, variant="classic").value == pytest.approx(133.78, abs=0.005)
    assert chao2(COTTONTAILS, 18, variant="bias-corrected").value == pytest.approx(
        129.12, abs=0.005
    )
    assert chao2(COTTONTAILS, 18).value == pytest.approx(130.57, abs=0.005)
    assert jackknife(COTTONTAILS, 18).value == pytest.approx(116.61, abs=0.005)
    assert jackknife(COTTONTAILS, 18, order=2).value == pytest.approx(141.45, abs=0.005)


def test_the_ants_by_elevation():
    """iNEXT's ant data, computed with (T-1)/T: T, S, Q1, Q2 -> Chao2."""
    for samples, observed, once, twice, expected in [
        (599, 227, 49, 23, 279.1085),
        (230, 241, 71, 34, 314.8100),
        (200, 14, 1, 2, 14.24875),
    ]:
        rest = [3] * (observed - once - twice)
        found = chao2([1] * once + [2] * twice + rest, samples)
        assert found.value == pytest.approx(expected, abs=5e-5)


def test_the_variance_of_the_jackknife_by_its_own_replicates():
    """Burnham & Overton's variance is that of the pseudovalues, computed here one by one."""
    random = np.random.default_rng(4)
    matrix = random.random((12, 30)) < random.random(30) * 0.4
    frequencies = matrix.sum(0)
    uniques = [(matrix[i] & (frequencies == 1)).sum() for i in range(12)]
    found = jackknife(frequencies, 12, uniques_by_sample=[int(u) for u in uniques])
    whole = (frequencies > 0).sum()
    pseudo = [12 * whole - 11 * (np.delete(matrix, i, 0).any(0)).sum() for i in range(12)]
    assert found.value == pytest.approx(np.mean(pseudo))
    assert found.standard_error == pytest.approx(np.std(pseudo, ddof=1) / np.sqrt(12))


def test_the_interval_covers_a_known_truth():
    """120 equally common taxa, 200 individuals: the 95 % interval should rarely miss."""
    random = np.random.default_rng(11)
    hits = 0
    for _ in range(200):
        counts = np.bincount(random.integers(0, 120, 200), minlength=120)
        found = chao1([int(c) for c in counts])
        hits += found.low <= 120 <= found.high
    assert hits >= 180


@given(st.lists(st.integers(0, 40), max_size=40))
def test_an_estimate_is_never_below_what_was_seen(counts: list[int]):
    observed = sum(c > 0 for c in counts)
    for variant in ("small-sample", "classic", "bias-corrected"):
        found = chao1(counts, variant=variant)
        assert found.value >= observed - 1e-9
        assert not found.low < observed - 1e-9
        assert found.low != found.high or not observed
    assert ace(counts).value >= observed - 1e-9


def test_nothing_seen_estimates_nothing():
    assert chao1([]).value == 0.0
    assert chao2([], 0).value == 0.0
    assert jackknife([], 0).value == 0.0


def test_only_singletons_fall_back_and_say_so():
    assert "bias-corrected" in ace([1, 1, 1]).variant


def test_impossible_counts_are_refused():
    with pytest.raises(ValueError, match="more samples than there are"):
        chao2([3], 2)
    with pytest.raises(ValueError, match="none negative"):
        chao1([-1])
