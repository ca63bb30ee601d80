"""Detection of a pass and what it says of absence: published values, closed forms, simulation."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import betabinom

from triage.estimates.detection import (
    FEWEST_CASES,
    absence_probability,
    chosen_detection,
    estimate_detection,
    missed_probability,
)


def cases(random, count, visits, passes=1, mean=0.5, sd=0.0):
    """Cases with a find, as a survey meets them; detection differs between waters by ``sd``."""
    found = []
    while len(found) < count:
        p = mean
        if sd:
            whole = mean * (1 - mean) / sd**2 - 1
            p = random.beta(mean * whole, (1 - mean) * whole)
        hits = random.random(visits) < 1 - (1 - p) ** passes
        if hits.any():
            found.append([(passes, bool(hit)) for hit in hits])
    return found


def test_three_passes_reach_the_published_cumulative_detection():
    """DuBois 2015: 0.64 a pass gives 0.87, 0.95 and 0.98 after two, three and four passes."""
    assert (1 - missed_probability(0.64, [2, 3, 4])).round(2).tolist() == [0.87, 0.95, 0.98]


@pytest.mark.parametrize("spread", [0.05, 0.2, 0.5])
@pytest.mark.parametrize("passes", [0, 1, 3, 10, 400])
def test_missed_is_the_zero_of_a_beta_binomial(spread, passes):
    """Independent: scipy.stats.betabinom."""
    whole = 1 / spread - 1
    expected = betabinom.pmf(0, passes, 0.4 * whole, 0.6 * whole)
    assert missed_probability(0.4, passes, spread=spread) == pytest.approx(expected)


@given(st.floats(0, 1), st.integers(0, 40), st.floats(0, 0.9))
def test_waters_that_differ_are_missed_more_often(detection, passes, spread):
    alike, differing = (missed_probability(detection, passes, spread=s) for s in (0.0, spread))
    assert 0 <= alike <= differing + 1e-9 <= 1 + 2e-9


@pytest.mark.parametrize(("wrong", "passes"), [((1.5, 0.0), 1), ((0.5, 1.0), 1), ((0.5, 0.0), -1)])
def test_detection_out_of_range_is_refused(wrong, passes):
    with pytest.raises(ValueError, match="0 to 1"):
        missed_probability(wrong[0], passes, spread=wrong[1])


@pytest.mark.parametrize(
    ("missed", "prior", "expected"),
    [
        (1.0, 0.4, 0.6),  # nobody searched
        (0.5, 0.5, 2 / 3),
        (0.0, 0.9, 1.0),
        (0.3, 0.0, 1.0),
        (0.0, 1.0, 0.0),  # what is certain beforehand no search can take away
        (1.0, 1.0, 0.0),
    ],
)
def test_absence_by_bayes_rule(missed, prior, expected):
    assert absence_probability(missed, prior=prior) == pytest.approx(expected)


def test_a_prior_beyond_one_is_refused():
    with pytest.raises(ValueError, match="prior"):
        absence_probability(0.5, prior=2.0)


@pytest.mark.parametrize("passes", [1, 2, 3])
def test_detection_of_a_pass_is_recovered_whatever_the_passes_of_a_visit(passes):
    random = np.random.default_rng(6)
    found, spread = estimate_detection(cases(random, 400, 4, passes, mean=0.4))
    assert found.value == pytest.approx(0.4, abs=0.04)
    assert found.low < 0.4 < found.high
    assert spread < 0.05


def test_detection_that_differs_between_waters_is_not_overstated():
    """Taken as alike everywhere it came out as 0.585 for 0.50."""
    random = np.random.default_rng(1)
    values, spreads = zip(
        *(estimate_detection(cases(random, 80, 4, mean=0.5, sd=0.2)) for _ in range(25)),
        strict=True,
    )
    assert np.mean([one.value for one in values]) == pytest.approx(0.5, abs=0.03)
    assert np.mean(spreads) == pytest.approx(0.16, abs=0.06)  # 0.2 squared over a quarter


@pytest.mark.parametrize(
    ("given_cases", "value"),
    [
        ([[(1, False), (1, False)], [(1, True)]], math.nan),  # no find; searched once
        ([[(1, True), (2, True)]], 1.0),
        ([[(1, True), (1, False), (1, False)]], 0.0),
    ],
)
def test_detection_that_cannot_be_told_is_nan_or_at_its_bound(given_cases, value):
    found, _ = estimate_detection(given_cases)
    assert found.value == pytest.approx(value, nan_ok=True)
    assert math.isnan(found.low)


def test_a_visit_without_a_pass_is_refused():
    with pytest.raises(ValueError, match="at least one pass"):
        estimate_detection([[(0, True), (1, True)]])


def test_the_surveys_own_detection_is_used_only_from_enough_cases_on():
    random = np.random.default_rng(2)
    many = cases(random, 200, 4, mean=0.5)
    own, few = chosen_detection(many), chosen_detection(many[: FEWEST_CASES - 1])
    assert own.value == own.own.value == pytest.approx(0.5, abs=0.05)
    assert (few.value, few.low, few.high, few.spread) == (0.64, 0.49, 0.75, 0.0)
    assert few.cases == FEWEST_CASES - 1
    assert "stated" in few.source
    stated = chosen_detection([], stated=0.3)
    assert (stated.low, stated.value, stated.high) == (0.3, 0.3, 0.3)
    assert stated.missed(2) == pytest.approx(0.49)
