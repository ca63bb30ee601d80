"""Put an interval, with its name, around a share or an estimate."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

Z95 = 1.959963984540054  # the 97.5 % point of the normal distribution
TOO_FEW_VISITS = "too few visits"
_MOST_DRAWN = 4_000_000  # samples in one array of times_drawn: 32 MB
FEWEST_VISITS = (
    5  # below, no interval of richness or coverage holds what it says: docs/figures/intervals.md
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """A number with its interval and the name of the variant that made both.

    ``low`` and ``high`` are NaN where the variant gives none, and ``note`` says why if that is for
    want of data; ``standard_error`` likewise.
    """

    value: float
    low: float = math.nan
    high: float = math.nan
    standard_error: float = math.nan
    variant: str
    note: str = ""


def too_few(estimate: Estimate, note: str = TOO_FEW_VISITS) -> Estimate:
    """The estimate without its interval, and why."""
    return replace(estimate, low=math.nan, high=math.nan, note=note)


def wilson(successes: float, trials: float, *, confidence: float = 0.95) -> Estimate:
    """Share with the Wilson score interval, without continuity correction.

    Parameters
    ----------
    successes, trials : float
        0 <= successes <= trials; whole numbers, or an effective number of trials where these
        depend on each other.
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
        Without interval where nothing unseen is estimated or the variance is 0 or NaN: an
        interval that closes on its estimate would claim to know.

    References
    ----------
    Chao, A. (1987) Estimating the population size for capture-recapture data with unequal
    catchability. Biometrics 43: 783-791. doi 10.2307/2531532
    """
    unseen = estimate - observed
    error = math.sqrt(variance) if variance >= 0 else math.nan
    plain = Estimate(value=estimate, standard_error=error, variant=variant)
    if unseen <= 0 or not variance > 0:
        return too_few(plain)
    spread = math.exp(Z95 * math.sqrt(math.log(1 + variance / unseen**2)))
    return replace(plain, low=observed + unseen / spread, high=observed + unseen * spread)


def normal(
    estimate: float,
    standard_error: float,
    *,
    variant: str,
    least: float = -math.inf,
    most: float = math.inf,
) -> Estimate:
    """95 % interval of an estimate that is about normal, within its bounds.

    An error of NaN gives none.
    """
    half = Z95 * standard_error
    return Estimate(
        value=estimate,
        low=max(estimate - half, least) if half == half else math.nan,
        high=min(estimate + half, most) if half == half else math.nan,
        standard_error=standard_error,
        variant=variant,
    )


def error_of_draws(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """Standard deviation over drawn samples of one number or several, a row for each sample.

    NaN with fewer than two draws.

    References
    ----------
    Efron, B. & Tibshirani, R. (1993) An Introduction to the Bootstrap, chapter 6.
    """
    if len(values) < 2:
        return np.full(values.shape[1:], math.nan)
    return np.asarray(np.nanstd(values, axis=0, ddof=1))


def times_drawn(samples: int, *, seed: int, rounds: int) -> Iterator[NDArray[np.int64]]:
    """How often each of so many samples (visits) is drawn, with replacement, in each round.

    Arrays of shape (some rounds, samples), one after the other, so that a large survey needs no
    more memory at a time. None of fewer than 2 samples: a single one cannot be resampled.
    """
    random, left = np.random.default_rng(seed), rounds if samples > 1 else 0
    while left:
        some = min(left, max(1, _MOST_DRAWN // samples))
        drawn = random.integers(0, samples, (some, samples))
        drawn += samples * np.arange(some)[:, None]
        yield np.bincount(drawn.ravel(), minlength=some * samples).reshape(some, samples)
        left -= some
