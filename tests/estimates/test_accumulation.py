"""Coverage, rarefaction, extrapolation and accumulation.

Spider values computed after Chao & Jost 2012 and Chao et al. 2014 (published coverages 0.9289 and
0.9446 from memory); Barro Colorado: vegan 2.6-4 rarefy and specaccum (exact).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from estimates_data import BCI, BCI_SITE_1, COTTONTAILS, DUNE, GIRDLED, LOGGED
from hypothesis import given
from hypothesis import strategies as st

from triage.estimates.accumulation import (
    accumulation_errors,
    coverage,
    coverage_with_interval,
    expected_taxa,
    size_of_coverage,
    sized,
)
from triage.estimates.hill_numbers import estimated_hill_numbers, hill_number


def accumulation(frequencies, samples, *, sizes=None):
    """Expected taxa in 1, 2, ... samples, or in each of the sizes."""
    chosen = range(1, samples + 1) if sizes is None else sizes
    return np.array([expected_taxa(frequencies, samples, size=size) for size in chosen])


def rarefied(counts, individuals):
    (found,) = sized(counts, [individuals], seed=1, rounds=1)
    assert found.variant == "rarefaction"
    return found.value


def test_coverage_of_the_spiders():
    assert coverage(GIRDLED) == pytest.approx(0.9288554, abs=5e-8)
    assert coverage(LOGGED) == pytest.approx(0.9445706, abs=5e-8)
    assert coverage(GIRDLED, size=100) == pytest.approx(0.9072004, abs=5e-8)
    assert coverage(LOGGED, size=100) == pytest.approx(0.88928, abs=5e-6)
    assert coverage(GIRDLED, size=2 * 168) == pytest.approx(0.9635701, abs=5e-8)
    assert coverage(LOGGED, size=2 * 252) == pytest.approx(0.9687488, abs=5e-8)
    assert coverage(GIRDLED, size=500) == pytest.approx(0.9810462, abs=5e-8)


@pytest.mark.parametrize(
    ("counts", "individuals", "taxa"),
    [
        (GIRDLED, 10, 6.478617),
        (GIRDLED, 50, 15.0301),
        (GIRDLED, 84, 18.91236),
        (GIRDLED, 100, 20.45943),
        (GIRDLED, 150, 24.67056),
        (LOGGED, 10, 6.571796),
        (LOGGED, 50, 18.42002),
        (LOGGED, 168, 31.70733),
    ],
)
def test_rarefaction_of_the_spiders(counts, individuals, taxa):
    assert rarefied(counts, individuals) == pytest.approx(taxa, abs=5e-5)


def test_rarefaction_of_a_forest_plot():
    assert rarefied(BCI_SITE_1, 340) == pytest.approx(84.339919, abs=5e-7)


def test_extrapolation_of_the_spiders():
    assert expected_taxa(GIRDLED, size=2 * 168) == pytest.approx(34.73073, abs=5e-6)
    assert expected_taxa(LOGGED, size=2 * 252) == pytest.approx(47.64446, abs=5e-6)
    assert expected_taxa(GIRDLED, size=500) == pytest.approx(39.12598, abs=5e-6)
    assert expected_taxa(LOGGED, size=500) == pytest.approx(47.51874, abs=5e-6)


def test_accumulation_of_the_forest():
    curve = accumulation(BCI, 50)
    assert curve[0] == pytest.approx(90.78)
    assert curve[9] == pytest.approx(182.5604, abs=5e-5)
    assert curve[24] == pytest.approx(208.1696, abs=5e-5)
    assert curve[49] == pytest.approx(225.0)


def test_accumulation_at_chosen_sizes_is_that_of_all():
    assert accumulation(BCI, 50, sizes=[1, 25, 50]) == pytest.approx(
        accumulation(BCI, 50)[[0, 24, 49]]
    )


def test_accumulation_is_the_mean_over_all_orders():
    random = np.random.default_rng(2)
    matrix = random.random((5, 9)) < 0.4
    from itertools import permutations

    curves = [
        [matrix[list(order[: k + 1])].any(0).sum() for k in range(5)]
        for order in permutations(range(5))
    ]
    assert accumulation(matrix.sum(0), 5) == pytest.approx(np.mean(curves, axis=0))


def test_the_curves_meet_at_the_sample():
    assert rarefied(GIRDLED, 168) == pytest.approx(26)
    assert expected_taxa(GIRDLED, size=168) == pytest.approx(26)


def test_nothing_seen_has_no_coverage():
    assert math.isnan(coverage([]))


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: expected_taxa([3], size=-1), "no negative size"),
        (lambda: coverage([3], size=-1), "no negative size"),
        (lambda: sized([3], [-1], seed=1), "no negative size"),
        (lambda: accumulation([6], 5), "more samples than there are"),
        (lambda: coverage([6], 5), "more samples than there are"),
        (lambda: coverage([-1]), "none negative"),
        (lambda: hill_number([3], order=1, size=0), "from 1 to the whole"),
        (lambda: hill_number([3], order=1, size=4), "from 1 to the whole"),
    ],
)
def test_impossible_samples_are_refused(call, message):
    with pytest.raises(ValueError, match=message):
        call()


@pytest.mark.parametrize(
    ("counts", "samples", "sizes", "errors"),
    [
        (BCI, 50, [1, 10, 25, 49, 50], [5.069753, 4.980386, 3.815046, 3.285296, 3.290279]),
        (DUNE, 20, [1, 5, 10, 20], [1.354075, 1.677019, 1.532779, 1.412562]),
    ],
)
def test_errors_of_accumulation_are_those_of_vegan(counts, samples, sizes, errors):
    """R, vegan 2.6-4: specaccum(BCI, "exact", conditioned = FALSE, gamma = "chao")$sd."""
    assert accumulation_errors(counts, samples, sizes) == pytest.approx(errors, abs=5e-7)
    assert math.isnan(accumulation_errors(counts, samples, [samples + 1])[0])


@pytest.mark.parametrize(
    ("counts", "observed", "estimated"),
    [
        (GIRDLED, (26, 12.05965, 7.84000), (43.89286, 13.82625, 8.174825)),
        (LOGGED, (37, 14.42100, 6.761499), (61.40278, 16.33707, 6.920350)),
    ],
)
def test_hill_numbers_of_the_spiders(counts, observed, estimated):
    """Observed: R, vegan renyi(hill = TRUE); estimated: published in Chao et al. 2014."""
    for order in (0, 1, 2):
        assert hill_number(counts, order=order) == pytest.approx(observed[order], abs=5e-6)
    found = estimated_hill_numbers(np.array([counts]), None, sum(counts))[0]
    assert found == pytest.approx(estimated, abs=5e-6)


def hill_by_enumeration(counts, size, order):
    """Every sample of the size written out: mean number of taxa met k times, then the formula."""
    from itertools import combinations

    animals = [taxon for taxon, count in enumerate(counts) for _ in range(count)]
    times = np.zeros(size + 1)
    drawn = list(combinations(animals, size))
    for sample in drawn:
        for met in np.bincount(sample, minlength=len(counts)):
            times[met] += met > 0
    times /= len(drawn)
    share = np.arange(1, size + 1) / size
    if order == 1:
        return math.exp(-(share * np.log(share) * times[1:]).sum())
    return (share**order * times[1:]).sum() ** (1 / (1 - order))


@pytest.mark.parametrize("order", [0, 1, 2])
@pytest.mark.parametrize("size", [1, 3, 6])
def test_rarefied_hill_numbers_are_the_mean_over_all_samples(order, size):
    counts = [4, 2, 1, 1]
    expected = hill_by_enumeration(counts, size, order)
    assert hill_number(counts, order=order, size=size) == pytest.approx(expected)


def hill_of_incidence(frequencies, samples, order):
    """Written apart from the product, after Chao et al. 2014, equations 8 to 10."""
    y, t, u = np.array(frequencies), samples, sum(frequencies)
    if order == 2:
        return (1 - 1 / t) * u**2 / (y * (y - 1)).sum()
    q1, q2 = (y == 1).sum(), (y == 2).sum()
    b = 2 * q2 / ((t - 1) * q1 + 2 * q2)
    sums = sum(sum(1 / k for k in range(one, t)) * one / t for one in y if one < t)
    tail = -math.log(b) - sum((1 - b) ** r / r for r in range(1, t))
    entropy = sums + q1 / t * (1 - b) ** (1 - t) * tail
    return math.exp(t / u * entropy + math.log(u / t))


@pytest.mark.parametrize("order", [1, 2])
@pytest.mark.parametrize(("frequencies", "samples"), [(BCI, 50), (DUNE, 20), (COTTONTAILS, 18)])
def test_estimated_hill_numbers_by_samples(frequencies, samples, order):
    found = estimated_hill_numbers(np.array([frequencies]), samples, samples)[0, order]
    assert found == pytest.approx(hill_of_incidence(frequencies, samples, order))


@given(st.lists(st.integers(1, 12), min_size=1, max_size=15))
def test_hill_numbers_fall_with_their_order_and_never_below_one(counts):
    zero, one, two = (hill_number(counts, order=order) for order in (0, 1, 2))
    assert 1 - 1e-9 <= two <= one + 1e-9 <= zero + 2e-9


@given(st.lists(st.integers(1, 12), min_size=2, max_size=15), st.floats(0.05, 0.95))
def test_the_size_of_a_coverage_reaches_it_first(frequencies, target):
    size = size_of_coverage(frequencies, 12, target=target)
    reached = coverage(frequencies, 12, size=size)
    assert reached >= target - 1e-9 or size == 12
    assert size == 1 or coverage(frequencies, 12, size=size - 1) < target


@pytest.mark.parametrize(
    ("frequencies", "samples", "low", "high"),
    [
        # Esty 1983 by hand: 1 - 21/4539 x .. = 0.99554, error sqrt(21 (1 - 21/4539) + 38)/4539.
        (BCI, 50, 0.99222, 0.99885),
        ([3, 3, 2], 4, 0.5, 1.0),
        ([5, 4, 4, 3], 6, 0.806, 1.0),
    ],
)
def test_the_interval_of_coverage_may_reach_one_and_never_closes(frequencies, samples, low, high):
    found = coverage_with_interval(frequencies, samples)
    assert (found.low, found.high) == pytest.approx((low, high), abs=5e-4 if samples == 50 else 0.2)
    assert found.low < found.value <= found.high


def test_frequencies_count_as_samples_only_where_samples_are_given():
    assert expected_taxa(DUNE, 20, size=20) == pytest.approx(30)
    assert expected_taxa(DUNE, 20, size=10) == pytest.approx(27.36496, abs=5e-6)  # vegan specaccum
    assert accumulation(DUNE, 20)[4] == pytest.approx(22.75432, abs=5e-6)


def test_no_sample_however_large_holds_taxa_where_none_were_found():
    assert [expected_taxa([], size=size) for size in (0, 5)] == [0.0, 0.0]
    assert expected_taxa([0, 0], size=40, samples=12) == 0.0
