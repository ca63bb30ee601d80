"""Outcomes are drawn from a known model; scores are checked against sums done by hand."""

from __future__ import annotations

import numpy as np
import pytest

from triage.quality.refit import Outcome, brier, calibration_error, fit_usability
from triage.quality.usability import FACTORS, STARTING_MODEL, Factors, UsabilityModel, usability


def drawn_from(model: UsabilityModel, count: int, seed: int = 0) -> list[Outcome]:
    random = np.random.default_rng(seed)
    rows = []
    for number in range(count):
        values = dict(zip(FACTORS, random.uniform(0.05, 1, len(FACTORS)), strict=True))
        factors = Factors(**values)
        named = bool(random.random() < usability(factors, odonate=1.0, model=model))
        rows.append(Outcome(factors=factors, named=named, group=f"observer {number % 40}"))
    return rows


TRUE_MODEL = UsabilityModel(
    method="truth",
    intercept=4.0,
    weights={"focus": 3.0, "size": 0.3, "view": 0.2, "exposure": 0.1, "framing": 0.1},
)


def test_a_survey_unlike_the_starting_weights_gets_its_own() -> None:
    refit = fit_usability(drawn_from(TRUE_MODEL, 800))
    assert refit.kept
    assert refit.brier_after < refit.brier_before - 0.01
    assert refit.calibration_after < 0.08
    weights = refit.model.weights
    assert weights["focus"] == max(weights.values())
    assert min(weights.values()) >= 0


def test_a_survey_that_the_starting_weights_fit_gains_next_to_nothing() -> None:
    refit = fit_usability(drawn_from(STARTING_MODEL, 400))
    assert abs(refit.brier_after - refit.brier_before) < 0.01
    assert refit.model == STARTING_MODEL or refit.kept


def test_outcomes_without_rhyme_are_not_learned() -> None:
    random = np.random.default_rng(1)
    best = Factors(**dict.fromkeys(FACTORS, 1.0))
    rows = [
        Outcome(factors=best, named=bool(random.random() < 0.9), group=str(number % 30))
        for number in range(300)
    ]
    refit = fit_usability(rows)
    assert refit.kept == (refit.brier_after < refit.brier_before)
    assert refit.model is STARTING_MODEL or refit.kept


@pytest.mark.parametrize(
    ("count", "reason"), [(0, "0 determinations"), (199, "199 determinations"), (250, "one group")]
)
def test_too_little_leaves_the_model_alone(count: int, reason: str) -> None:
    rows = [
        Outcome(factors=row.factors, named=row.named, group="one")
        for row in drawn_from(TRUE_MODEL, count)
    ]
    refit = fit_usability(rows)
    assert not refit.kept
    assert refit.model is STARTING_MODEL
    assert reason in refit.reason


def test_the_order_of_the_groups_decides_nothing_but_chance() -> None:
    rows = drawn_from(TRUE_MODEL, 400)
    first, second = fit_usability(rows), fit_usability(rows)
    assert first == second


@pytest.mark.parametrize(
    ("chances", "came", "score"),
    [([0.7], [True], 0.09), ([0.3], [True], 0.49), ([1.0, 0.0], [True, False], 0.0)],
)
def test_the_brier_score_is_the_mean_squared_difference(
    chances: list[float], came: list[bool], score: float
) -> None:
    assert brier(np.array(chances), np.array(came)) == pytest.approx(score)


def test_calibration_error_is_nothing_for_chances_that_come_true_as_often() -> None:
    came = np.array([True] * 7 + [False] * 3)
    assert calibration_error(np.full(10, 0.7), came) == pytest.approx(0)
    assert calibration_error(np.full(10, 0.2), came) == pytest.approx(0.5)
