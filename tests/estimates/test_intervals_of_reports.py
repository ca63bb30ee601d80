"""Coverage of samples, sized samples, medians and correlation intervals that reports show.

Coverage of samples: ants along an elevation gradient, values computed after Chao & Jost 2012 with
the published T, U, Q1 and Q2 of the iNEXT data set. Simulations are of communities known in full.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from estimates_data import GIRDLED, LOGGED
from scipy.stats import binom, multivariate_normal, norm, spearmanr

from triage.estimates.accumulation import coverage_of_samples, extrapolated, sized
from triage.estimates.biotic_index import rank_correlation
from triage.estimates.season import median_day


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
    found = coverage_of_samples(frequencies(samples, taxa, incidences, once, twice), samples)
    assert found == pytest.approx(expected, abs=5e-8)


def test_coverage_of_samples_at_its_ends():
    assert coverage_of_samples([3, 3, 2], 4) == 1.0
    assert coverage_of_samples([1], 5) == 0.0
    assert math.isnan(coverage_of_samples([], 5))
    assert math.isnan(coverage_of_samples([1, 1], 1))
    with pytest.raises(ValueError, match="more samples"):
        coverage_of_samples([6], 5)


def test_sized_samples_have_the_values_of_rarefaction_and_extrapolation():
    sizes = [10, 100, 168, 336]
    found = sized(GIRDLED, sizes, seed=3, rounds=20)
    # The first two as in test_accumulation.py; the third is the sample itself.
    assert [one.value for one in found[:3]] == pytest.approx([6.478617, 20.45943, 26], abs=5e-5)
    assert found[3].value == pytest.approx(extrapolated(GIRDLED, 336))
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


def test_sizes_of_nothing_are_nothing_and_none_is_negative():
    assert [one.value for one in sized([], [0, 5], seed=1)] == [0.0, 0.0]
    with pytest.raises(ValueError, match="no negative"):
        sized([3], [-1], seed=1)


def test_a_median_day_lies_within_its_interval_and_follows_the_counts():
    found = median_day([150, 160, 170, 180], [1, 1, 1, 97], seed=4)
    assert found.value == 180
    assert found.low <= 180 <= found.high


def test_a_median_day_of_one_record_has_no_interval():
    found = median_day([150], [40], seed=4)
    assert found.value == 150
    assert math.isnan(found.low)
    assert math.isnan(median_day([], seed=4).value)


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


def test_rho_of_few_pairs_has_no_interval():
    found = rank_correlation([1, 2, 3, 4], [1, 3, 2, 4])
    assert math.isnan(found.rho_low)
    full = rank_correlation([1, 2, 3, 4, 5], [1, 2, 3, 4, 5])
    assert (full.rho_low, full.rho_high) == (full.rho, full.rho)
