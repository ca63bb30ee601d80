"""Refit usability to a survey's accepted determinations, kept only if better."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from triage.analysis.refitting import FOLDS, folds_of
from triage.quality.usability import (
    FACTORS,
    STARTING_MODEL,
    Factors,
    UsabilityModel,
    log_factors,
)

FEWEST_ROWS = 200  # determinations before anything is learned from them
FEWEST_OF_EACH = 20  # named, and not named; fewer leave nothing to learn; common practice
PULL = 2.0  # how strongly weights are held at the starting ones, in units of their own square
CALIBRATION_BINS = 10

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """One determined sighting: the factors of its best photo, and whether the species was reached.

    ``group`` keeps together what is alike (one observer); groups are never split between folds.
    """

    factors: Factors
    named: bool
    group: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Refit:
    """The model to use, and what was measured on held-out folds before and after.

    Brier scores (0 best, 1 worst) and expected calibration errors, NaN when nothing was tried.
    """

    model: UsabilityModel
    kept: bool
    rows: int
    brier_before: float
    brier_after: float
    calibration_before: float
    calibration_after: float
    reason: str


def fit_usability(rows: Sequence[Outcome], *, before: UsabilityModel = STARTING_MODEL) -> Refit:
    """Refit the weights by logistic regression, and keep them only if held-out folds say so.

    Parameters
    ----------
    rows : sequence of Outcome
        Of accepted determinations; at least 200, of which at least 20 reached the species and at
        least 20 did not, from at least two groups.
    before : UsabilityModel
        In use so far; the new one must beat its Brier score on the same rows.

    Returns
    -------
    Refit
        ``model`` is the new one if it is kept and ``before`` if not. Weights are never negative:
        a better photo is never worth less.

    Raises
    ------
    ValueError
        If a factor is not finite.

    Notes
    -----
    Every held-out probability comes from a fit that saw nothing of its group, so the comparison is
    fair to the starting model, which saw none of them. The penalty holds the weights at the
    starting ones where the rows say little.

    References
    ----------
    Brier, G. W. (1950). Verification of forecasts expressed in terms of probability. Monthly
    Weather Review 78, 1-3. doi:10.1175/1520-0493(1950)078<0001:VOFEIT>2.0.CO;2
    """
    logs = np.array([log_factors(row.factors) for row in rows]).reshape(len(rows), len(FACTORS))
    named = np.array([row.named for row in rows], dtype=bool)
    if not np.isfinite(logs).all():
        raise ValueError("a factor is not finite")
    folds = folds_of([row.group for row in rows], FOLDS)
    short = _too_little(named, folds)
    if short:
        nan = float("nan")
        return Refit(
            model=before,
            kept=False,
            rows=len(rows),
            brier_before=nan,
            brier_after=nan,
            calibration_before=nan,
            calibration_after=nan,
            reason=short,
        )
    held_out = np.empty(len(rows))
    for fold in np.unique(folds):
        out = folds == fold
        held_out[out] = _predicted(_fitted(logs[~out], named[~out]), logs[out])
    now = _predicted(_parameters(before), logs)
    brier_before, brier_after = brier(now, named), brier(held_out, named)
    kept = brier_after < brier_before
    words = "better" if kept else "no better"
    return Refit(
        model=_model(_fitted(logs, named), rows=len(rows)) if kept else before,
        kept=kept,
        rows=len(rows),
        brier_before=brier_before,
        brier_after=brier_after,
        calibration_before=calibration_error(now, named),
        calibration_after=calibration_error(held_out, named),
        reason=f"{words} on held-out folds: Brier {brier_after:.3f} against {brier_before:.3f}",
    )


def brier(chances: Floats, came_true: npt.NDArray[np.bool_]) -> float:
    """Mean squared difference between a chance and what came; 0 best, 0.25 for always one half.

    Examples
    --------
    >>> brier(np.array([0.5, 0.5]), np.array([True, False]))
    0.25
    """
    return float(np.mean((chances - came_true) ** 2))


def calibration_error(chances: Floats, came_true: npt.NDArray[np.bool_]) -> float:
    """Expected calibration error over ten equal bins of chance: 0 best, 1 worst.

    References
    ----------
    Naeini, M. P., Cooper, G. F., Hauskrecht, M. (2015). Obtaining well calibrated probabilities
    using Bayesian binning. AAAI 29, 2901-2907. doi:10.1609/aaai.v29i1.9602
    """
    bins = np.minimum((chances * CALIBRATION_BINS).astype(int), CALIBRATION_BINS - 1)
    error = 0.0
    for at in np.unique(bins):
        inside = bins == at
        error += float(inside.mean() * abs(chances[inside].mean() - came_true[inside].mean()))
    return error


def _too_little(named: npt.NDArray[np.bool_], folds: npt.NDArray[np.int64]) -> str:
    if len(named) < FEWEST_ROWS:
        return f"{len(named)} determinations, {FEWEST_ROWS} are needed"
    fewer = int(min(named.sum(), (~named).sum()))
    if fewer < FEWEST_OF_EACH:
        return f"only {fewer} of one outcome, {FEWEST_OF_EACH} are needed"
    return "all from one group" if len(np.unique(folds)) < 2 else ""


def _fitted(logs: Floats, named: npt.NDArray[np.bool_]) -> Floats:
    """Intercept and weights that minimise log loss plus the pull to the starting weights."""
    from scipy.optimize import minimize

    start = _parameters(STARTING_MODEL)
    design = np.column_stack([np.ones(len(logs)), logs])

    def loss(parameters: Floats) -> tuple[float, Floats]:
        scores = design @ parameters
        off = parameters[1:] - start[1:]
        value = np.logaddexp(0, np.where(named, -scores, scores)).sum() + PULL / 2 * off @ off
        slope = design.T @ (1 / (1 + np.exp(-scores)) - named)
        slope[1:] += PULL * off
        return float(value), np.asarray(slope)

    bounds = [(None, None)] + [(0.0, None)] * len(FACTORS)
    found: Any = minimize(loss, start, jac=True, method="L-BFGS-B", bounds=bounds)
    return np.asarray(found.x, dtype=np.float64)


def _predicted(parameters: Floats, logs: Floats) -> Floats:
    return np.asarray(1 / (1 + np.exp(-(parameters[0] + logs @ parameters[1:]))))


def _parameters(model: UsabilityModel) -> Floats:
    return np.array([model.intercept, *(model.weights[name] for name in FACTORS)])


def _model(parameters: Floats, *, rows: int) -> UsabilityModel:
    return UsabilityModel(
        method=f"usability 1, refitted on {rows} determinations",
        intercept=float(parameters[0]),
        weights={name: float(weight) for name, weight in zip(FACTORS, parameters[1:], strict=True)},
    )
