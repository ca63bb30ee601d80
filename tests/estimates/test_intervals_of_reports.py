"""Coverage of samples, sized samples, medians and correlation intervals that reports show.

Coverage of samples: ants along an elevation gradient, values computed after Chao & Jost 2012 with
the published T, U, Q1 and Q2 of the iNEXT data set. Simulations are of communities known in full.
"""

from __future__ import annotations

import math
from itertools import permutations

import numpy as np
import pytest
from estimates_data import GIRDLED, LOGGED
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom, multivariate_normal, norm, spearmanr

from triage.estimates.accumulation import coverage, expected_taxa, sized
from triage.estimates.biotic_index import rank_correlation
from triage.estimates.season import em50, median_day


def frequencies(samples: int, taxa: int, incidences: int, once: int, twice: int) -> list[int]:
    """Any frequencies with these totals: the estimator sees nothing else of them."""
    rest = taxa - once - twice
    left = incidences - once - 2 * twice
    each, more = divmod(left, rest)
    made = [1] * once + [2] * twice + [each + 1] * more + [each] * (rest - more)
    assert sum(made) == incidences
    assert max(made) <= samples
    assert each > 2
    return made


@pytest.mark.parametrize(
    ("samples", "taxa", "incidences", "once", "twice", "expected"),
    [
        (599, 227, 5976, 49, 23, 0.9918134),
        (230, 241, 2943, 71, 34, 0.9759754),
        (150, 122, 1730, 28, 16, 0.9839382),
        (200, 56, 1170, 13, 4, 0.9889231),
        (200, 14, 271, 1, 2, 0.9963827),
    ],
)
def test_coverage_of_samples_of_the_ants(
    samples: int, taxa: int, incidences: int, once: int, twice: int, expected: float
):
    found = coverage(frequencies(samples, taxa, incidences, once, twice), samples)
    assert found == pytest.approx(expected, abs=5e-8)


def test_coverage_of_samples_at_its_ends():
    assert coverage([3, 3, 2], 4) == 1.0
    assert coverage([1], 5) == 0.0
    assert math.isnan(coverage([], 5))
    assert math.isnan(coverage([1, 1], 1))
    with pytest.raises(ValueError, match="more samples"):
        coverage([6], 5)


def test_sized_samples_have_the_values_of_rarefaction_and_extrapolation():
    sizes = [10, 100, 168, 336]
    found = sized(GIRDLED, sizes, seed=3, rounds=20)
    # The first two as in test_accumulation.py; the third is the sample itself.
    assert [one.value for one in found[:3]] == pytest.approx([6.478617, 20.45943, 26], abs=5e-5)
    assert found[3].value == pytest.approx(expected_taxa(GIRDLED, size=336))
    assert [one.variant for one in found] == ["rarefaction"] * 3 + ["extrapolation"]


def test_the_intervals_of_sized_samples_widen_with_the_size():
    errors = [one.standard_error for one in sized(LOGGED, [20, 100, 252, 504], seed=3)]
    assert errors == sorted(errors)
    assert sized(LOGGED, [100], seed=3) == sized(LOGGED, [100], seed=3)


def test_intervals_hold_the_truth_of_a_known_community():
    random = np.random.default_rng(11)
    shares = 0.9 ** np.arange(25)
    shares /= shares.sum()
    size, trials = 150, 60
    truth = [float((1 - (1 - shares) ** m).sum()) for m in (75, 150, 300)]
    held = np.zeros(3)
    for trial in range(trials):
        counts = [int(c) for c in random.multinomial(size, shares)]
        found = sized(counts, [75, 150, 300], seed=trial, rounds=80)
        held += [one.low <= true <= one.high for one, true in zip(found, truth, strict=True)]
    # With a true coverage of 0.95, 50 or fewer of 60 would come once in a thousand.
    assert binom.cdf(50, trials, 0.95) < 0.002
    assert (held > 50).all()


def test_sizes_of_nothing_are_nothing():
    assert [one.value for one in sized([], [0, 5], seed=1)] == [0.0, 0.0]


def test_a_median_day_lies_within_its_interval_and_follows_the_counts():
    found = median_day([150, 160, 170, 180, 190], [1, 1, 1, 97, 90], seed=4)
    assert found.value == 180
    assert found.low <= 180 <= found.high
    assert found.low < found.high


@pytest.mark.parametrize(
    ("days", "counts"),
    [([150], [40]), ([150, 160, 170, 180], [1, 5, 3, 2]), ([150] * 9, [2] * 9)],
)
@pytest.mark.parametrize("statistic", [median_day, em50])
def test_few_days_of_collection_have_no_interval_and_say_so(statistic, days, counts):
    """Zero-width intervals, such as 0 (0 to 0) of a single collection, claimed to know."""
    found = statistic(days, counts, seed=4)
    assert math.isnan(found.low)
    assert math.isnan(found.high)
    assert found.note == "too few visits"
    assert math.isnan(statistic([], [], seed=4).value)
    single = len(set(days)) == 1 and statistic is em50
    assert math.isnan(found.value) == single


def test_intervals_of_the_median_day_hold_a_known_median():
    random = np.random.default_rng(5)
    held = 0
    for trial in range(60):
        days = np.clip(np.round(norm(180, 15).rvs(40, random_state=random)), 1, 366)
        found = median_day(list(days), seed=trial, rounds=199)
        held += found.low <= 180 <= found.high
    assert held > 50


def test_intervals_of_rho_hold_a_known_correlation():
    # Spearman's rho of a bivariate normal: 6/pi asin(r/2) (Kruskal 1958, J. Am. Stat. Assoc. 53).
    random = np.random.default_rng(6)
    truth = 6 / math.pi * math.asin(0.6 / 2)
    pairs = multivariate_normal([0, 0], [[1, 0.6], [0.6, 1]])
    held = 0
    for _ in range(60):
        drawn = pairs.rvs(30, random_state=random)
        found = rank_correlation(list(drawn[:, 0]), list(drawn[:, 1]))
        assert found.rho == pytest.approx(spearmanr(drawn).statistic)
        held += found.rho_low <= truth <= found.rho_high
    assert held > 50


def test_rho_of_few_pairs_and_of_one_order_has_no_interval():
    assert math.isnan(rank_correlation([1, 2, 3, 4], [1, 3, 2, 4]).rho_low)
    full = rank_correlation([1, 2, 3, 4, 5], [1, 2, 3, 4, 5])
    assert math.isnan(full.rho_low)
    assert full.rho == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("x", "y", "rho_p", "tau_p"),
    [
        # R 4.2, cor.test(method = "spearman", exact = TRUE), and "kendall".
        ([1, 2, 3], [1, 2, 3], 0.3333333, 0.3333333),
        ([1, 2, 3, 4, 5, 6], [2, 1, 4, 3, 6, 5], 0.05833333, 0.1361111),
        (
            [44.4, 45.9, 41.9, 53.3, 44.7, 44.1, 50.7, 45.2, 60.1],
            [2.6, 3.1, 2.5, 5.0, 3.6, 4.0, 5.2, 2.8, 3.8],
            0.09679784,
            0.1194389,
        ),
    ],
)
def test_p_of_few_waters_is_exact(x, y, rho_p, tau_p):
    found = rank_correlation(x, y)
    assert (found.rho_p, found.tau_p) == pytest.approx((rho_p, tau_p), abs=5e-7)


@given(st.lists(st.integers(0, 3), min_size=4, max_size=6), st.integers(0, 1000))
def test_the_exact_p_is_that_of_all_orders_written_out(x, seed):
    """Independent: every permutation by itertools, scipy's rho for each; ties and all."""
    y = np.random.default_rng(seed).integers(0, 4, len(x)).tolist()
    if len(set(x)) < 2 or len(set(y)) < 2:
        return
    every = [abs(spearmanr(x, order).statistic) for order in permutations(y)]
    expected = np.mean([one >= abs(spearmanr(x, y).statistic) - 1e-9 for one in every])
    assert rank_correlation(x, y).rho_p == pytest.approx(expected)
