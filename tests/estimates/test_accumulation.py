"""Coverage, rarefaction, extrapolation and accumulation.

Spider values computed after Chao & Jost 2012 and Chao et al. 2014 (published coverages 0.9289 and
0.9446 from memory); Barro Colorado: vegan 2.6-4 rarefy and specaccum (exact).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from estimates_data import BCI, BCI_SITE_1, GIRDLED, LOGGED

from triage.estimates.accumulation import (
    accumulation,
    coverage,
    coverage_at,
    extrapolated,
    sized,
)


def rarefied(counts, individuals):
    (found,) = sized(counts, [individuals], seed=1, rounds=1)
    assert found.variant == "rarefaction"
    return found.value


def test_coverage_of_the_spiders():
    assert coverage(GIRDLED) == pytest.approx(0.9288554, abs=5e-8)
    assert coverage(LOGGED) == pytest.approx(0.9445706, abs=5e-8)
    assert coverage_at(GIRDLED, 100) == pytest.approx(0.9072004, abs=5e-8)
    assert coverage_at(LOGGED, 100) == pytest.approx(0.88928, abs=5e-6)
    assert coverage_at(GIRDLED, 2 * 168) == pytest.approx(0.9635701, abs=5e-8)
    assert coverage_at(LOGGED, 2 * 252) == pytest.approx(0.9687488, abs=5e-8)
    assert coverage_at(GIRDLED, 500) == pytest.approx(0.9810462, abs=5e-8)


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
    assert extrapolated(GIRDLED, 2 * 168) == pytest.approx(34.73073, abs=5e-6)
    assert extrapolated(LOGGED, 2 * 252) == pytest.approx(47.64446, abs=5e-6)
    assert extrapolated(GIRDLED, 500) == pytest.approx(39.12598, abs=5e-6)
    assert extrapolated(LOGGED, 500) == pytest.approx(47.51874, abs=5e-6)


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
    assert extrapolated(GIRDLED, 168) == pytest.approx(26)


def test_nothing_seen_has_no_coverage():
    assert math.isnan(coverage([]))


def test_extrapolating_to_less_than_there_is_is_refused():
    with pytest.raises(ValueError, match="fewer"):
        extrapolated([3, 2], 4)
