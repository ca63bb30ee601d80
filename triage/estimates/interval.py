"""A count of successes or an estimate with its error in, an interval with its name out."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Z95 = 1.959963984540054  # the 97.5 % point of the normal distribution


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """A number with its interval and the name of the variant that made both.

    ``low`` and ``high`` are NaN where the variant gives none; ``standard_error`` likewise.
    """

    value: float
    low: float = math.nan
    high: float = math.nan
    standard_error: float = math.nan
    variant: str


def wilson(successes: int, trials: int, *, confidence: float = 0.95) -> Estimate:
    """Share with the Wilson score interval, without continuity correction.

    Parameters
    ----------
    successes, trials : int
        0 <= successes <= trials.
    confidence : float in (0, 1)

    Returns
    -------
    Estimate
        value in [0, 1]; NaN with the interval [0, 1] when there are no trials.

    Raises
    ------
    ValueError
        If the counts are impossible.

    References
    ----------
    Wilson, E. B. (1927) Probable inference, the law of succession, and statistical inference.
    J. Am. Stat. Assoc. 22: 209-212. doi 10.1080/01621459.1927.10502953

    Examples
    --------
    >>> found = wilson(0, 20)
    >>> round(found.low, 4), round(found.high, 4)
    (0.0, 0.1611)
    """
    if not 0 <= successes <= trials:
        raise ValueError(f"{successes} of {trials} is no share")
    if trials == 0:
        return Estimate(value=math.nan, low=0.0, high=1.0, variant="Wilson")
    from statsmodels.stats.proportion import proportion_confint

    low, high = proportion_confint(successes, trials, alpha=1 - confidence, method="wilson")
    return Estimate(
        value=successes / trials,
        # Exact at both ends, where the formula leaves a rounding error.
        low=float(low) if successes else 0.0,
        high=float(high) if successes < trials else 1.0,
        variant="Wilson",
    )


def log_normal(observed: float, estimate: float, variance: float, *, variant: str) -> Estimate:
    """95 % interval of a richness estimate that cannot fall below what was observed.

    Returns
    -------
    Estimate
        The interval collapses onto the estimate when nothing unseen is estimated.

    References
    ----------
    Chao, A. (1987) Estimating the population size for capture-recapture data with unequal
    catchability. Biometrics 43: 783-791. doi 10.2307/2531532
    """
    unseen = estimate - observed
    error = math.sqrt(variance) if variance >= 0 else math.nan
    if unseen <= 0 or not variance > 0:
        return Estimate(
            value=estimate, low=estimate, high=estimate, standard_error=error, variant=variant
        )
    spread = math.exp(Z95 * math.sqrt(math.log(1 + variance / unseen**2)))
    return Estimate(
        value=estimate,
        low=observed + unseen / spread,
        high=observed + unseen * spread,
        standard_error=error,
        variant=variant,
    )


def normal(estimate: float, standard_error: float, *, variant: str) -> Estimate:
    """95 % interval of an estimate that is about normal; NaN error gives no interval."""
    half = Z95 * standard_error
    return Estimate(
        value=estimate,
        low=estimate - half,
        high=estimate + half,
        standard_error=standard_error,
        variant=variant,
    )


def resampled(
    statistic: Callable[[NDArray[Any]], float],
    samples: NDArray[Any],
    *,
    seed: int,
    rounds: int = 999,
    variant: str,
) -> Estimate:
    """Percentile interval from resampling whole samples (visits) with replacement.

    Parameters
    ----------
    statistic : callable
        From a matrix (samples, taxa) of incidences or counts to a number.
    samples : bool or int array, shape (samples, taxa)
    seed : int
        Recorded with the result by whoever calls.
    rounds : int
        How many resamples.

    Returns
    -------
    Estimate
        No interval with fewer than two samples.

    References
    ----------
    Efron, B. & Tibshirani, R. (1993) An Introduction to the Bootstrap, chapter 13.
    """
    value = statistic(samples)
    count = samples.shape[0]
    if count < 2:
        return Estimate(value=value, variant=variant)
    random = np.random.default_rng(seed)
    drawn = np.array([statistic(samples[random.integers(0, count, count)]) for _ in range(rounds)])
    low, high = np.nanquantile(drawn, [0.025, 0.975])
    return Estimate(
        value=value,
        low=float(low),
        high=float(high),
        standard_error=float(np.nanstd(drawn, ddof=1)),
        variant=variant,
    )
