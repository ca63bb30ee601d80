"""Estimate the chance that a pass finds what is there, and weigh an absence by it."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from triage.estimates.interval import Z95, Estimate

PUBLISHED_DETECTION = 0.64
"""A pass along a river bank for Anisoptera exuviae, Wisconsin: 0.49 to 0.75, mean 0.64 (DuBois
2015, Int. J. Odonatol. 18, one study of ten stations). Ponds and damselflies are not covered."""
PUBLISHED_RANGE = (0.49, 0.75)

PRIOR_ON_SPREAD = 2.0  # Beta(1, 2): waters differ, but few passes could be read as any difference
LEAST_SPREAD = 0.004  # a beta distribution any sharper falls between the nodes of the quadrature
QUADRATURE_NODES = 100

FEWEST_CASES = 20  # repeatedly searched cases with a find; with fewer the stated value holds
WIDEST_INTERVAL = 0.4  # of an own estimate that is used

Case = Sequence[tuple[int, bool]]
"""The visits of one taxon at one water in one season: passes made, and whether it was found."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Detection:
    """The chance that one pass finds a taxon that is there, and where the figure comes from.

    It differs between waters: ``spread`` is the intra-class correlation of a beta distribution
    with mean ``value`` (0: alike everywhere). ``own`` is the survey's own estimate from ``cases``
    even where it is not used.
    """

    value: float
    low: float
    high: float
    spread: float
    source: str
    own: Estimate
    cases: int

    def missed(self, passes: ArrayLike, *, at: float | None = None) -> NDArray[np.float64]:
        """Chance that so many passes all miss a taxon that is there; ``at`` another mean."""
        return missed_probability(self.value if at is None else at, passes, spread=self.spread)


def missed_probability(
    detection: float, passes: ArrayLike, *, spread: float = 0.0
) -> NDArray[np.float64]:
    """Chance that passes miss a taxon that is there.

    Parameters
    ----------
    detection : float in [0, 1]
        Of one pass, the mean over waters.
    passes : array_like of int
        Not negative.
    spread : float in [0, 1)
        Intra-class correlation: how far detection differs between waters. With 0 passes are
        independent, (1 - p)^n; else B(a, b + n) / B(a, b) with a + b = 1 / spread - 1, which is
        more: many passes at a water where detection is poor still miss.

    Returns
    -------
    float array in [0, 1], shape of ``passes``
        1 without any pass.

    Raises
    ------
    ValueError
        If anything is out of range.

    References
    ----------
    Skellam, J. G. (1948) J. R. Stat. Soc. B 10: 257-261 (beta-binomial distribution)

    Examples
    --------
    >>> round(1 - float(missed_probability(0.64, 3)), 2)
    0.95
    """
    made = np.asarray(passes, dtype=np.float64)
    if not 0 <= detection <= 1 or not 0 <= spread < 1 or (made < 0).any():
        raise ValueError("detection and spread lie in 0 to 1, passes are not negative")
    if spread < 1e-6 or detection in (0.0, 1.0):
        return np.asarray((1.0 - detection) ** made)
    from scipy.special import gammaln

    whole = 1 / spread - 1
    b = (1 - detection) * whole
    over_all = gammaln(whole + made) - gammaln(whole)
    return np.asarray(np.exp(gammaln(b + made) - gammaln(b) - over_all))


def absence_probability(missed: ArrayLike, *, prior: float) -> NDArray[np.float64]:
    """Chance that a taxon is absent after searches without a find (Bayes' rule).

    Parameters
    ----------
    missed : array_like of float in [0, 1]
        Chance that the searches would all have missed it.
    prior : float in [0, 1]
        Chance of presence before the searches.

    Returns
    -------
    float array in [0, 1], shape of ``missed``
        1 for a prior of 0; 0 for a prior of 1, whatever the searches say.

    Raises
    ------
    ValueError
        If anything is out of range.
    """
    chance = np.asarray(missed, dtype=np.float64)
    if not 0 <= prior <= 1 or ((chance < 0) | (chance > 1)).any():
        raise ValueError("a prior and a chance lie in 0 to 1")
    if prior == 1:
        return np.zeros_like(chance)
    return np.asarray((1 - prior) / (1 - prior + prior * chance))


def estimate_detection(cases: Sequence[Case]) -> tuple[Estimate, float]:
    """Detection of one pass, from waters searched repeatedly that gave the taxon at least once.

    Parameters
    ----------
    cases : sequence of cases
        Those without a find or with a single visit say nothing and are left out.

    Returns
    -------
    tuple of Estimate and float
        Mean over waters with a 95 % interval on the logit scale, and the spread. NaN without
        cases; at a bound of 0 or 1, without interval, where every case was found once or always.

    Raises
    ------
    ValueError
        If a number of passes is not positive.

    Notes
    -----
    Visit v with k passes finds with 1 - (1 - p)^k; p differs between cases by a beta
    distribution; each case is conditioned on a find. Taking p as the same everywhere instead
    overstates it (0.59 for 0.50 where its standard deviation is 0.2): waters with a low p are
    those never found. With two visits a case the spread cannot be told, and its prior decides.

    References
    ----------
    Huggins, R. M. (1989) Biometrika 76: 133-140. doi 10.1093/biomet/76.1.133 (conditioning on a
    find); Royle, J. A. & Nichols, J. D. (2003) Ecology 84: 777-790 (detection that differs)
    """
    if any(passes < 1 for case in cases for passes, _ in case):
        raise ValueError("a visit has at least one pass")
    kept = Counter(
        tuple(sorted((passes, bool(found)) for passes, found in case))
        for case in cases
        if len(case) >= 2 and any(found for _, found in case)
    )
    name = "zero-truncated beta-binomial of passes"
    if not kept:
        return Estimate(value=math.nan, variant=name), math.nan
    if all(found for case in kept for _, found in case):
        return Estimate(value=1.0, variant=f"{name}, at its bound"), 0.0
    if all(sum(found for _, found in case) == 1 for case in kept):
        return Estimate(value=0.0, variant=f"{name}, at its bound"), 0.0
    from scipy.special import expit

    logit, error, spread = _fit(kept)
    low, value, high = expit(np.array([logit - Z95 * error, logit, logit + Z95 * error])).tolist()
    return Estimate(value=value, low=low, high=high, variant=name), spread


def chosen_detection(cases: Sequence[Case], *, stated: float = PUBLISHED_DETECTION) -> Detection:
    """The survey's own detection where enough waters were searched repeatedly, else the stated.

    The stated one has the published range if it is the published one, else none; and no spread.
    """
    own, spread = estimate_detection(cases)
    usable = sum(len(case) >= 2 and any(found for _, found in case) for case in cases)
    narrow = own.high - own.low <= WIDEST_INTERVAL  # never where there is no interval
    if usable >= FEWEST_CASES and narrow:
        source = f"this survey's own estimate from {usable} repeatedly searched cases"
        bounds = own.low, own.high
        value = own.value
    else:
        source, value, spread = "the stated setting", stated, 0.0
        bounds = PUBLISHED_RANGE if stated == PUBLISHED_DETECTION else (stated, stated)
    return Detection(
        value=value,
        low=bounds[0],
        high=bounds[1],
        spread=spread,
        source=source,
        own=own,
        cases=usable,
    )


def _beta(mean: float, spread: float) -> tuple[float, float]:
    whole = 1 / spread - 1
    return mean * whole, (1 - mean) * whole


def _fit(kept: Counter[tuple[tuple[int, bool], ...]]) -> tuple[float, float, float]:
    """Logit of the mean, its standard error, and the spread, by penalised maximum likelihood."""
    from scipy.optimize import minimize
    from scipy.special import betaln, logsumexp
    from statsmodels.tools.numdiff import approx_hess

    # Gauss-Legendre after p = sin^2, which takes care of the ends of the beta density.
    nodes, weights = np.polynomial.legendre.leggauss(QUADRATURE_NODES)
    angle = (nodes + 1) * np.pi / 4
    p, q = np.log(np.sin(angle)) * 2, np.log(np.cos(angle)) * 2  # logarithms
    step = np.log(weights * np.pi / 4 * np.sin(2 * angle))
    times = np.array(list(kept.values()), dtype=np.float64)
    given = np.array(
        [sum(np.log(-np.expm1(k * q)) if found else k * q for k, found in case) for case in kept]
    )
    none = np.array([sum(k for k, _ in case) for case in kept])[:, None] * q

    def loss(at: NDArray[np.float64]) -> float:
        mean, spread = _mean_and_spread(at)
        a, b = _beta(mean, spread)
        density = step + (a - 1) * p + (b - 1) * q - betaln(a, b)
        found = logsumexp(given + density, axis=1)
        missed = np.minimum(logsumexp(none + density, axis=1), -1e-12)
        terms = times * (found - np.log(-np.expm1(missed)))
        return float(-terms.sum() - (PRIOR_ON_SPREAD - 1) * math.log1p(-spread))

    found = minimize(loss, [0.0, -2.0], method="Nelder-Mead", options={"xatol": 1e-4})
    at = np.asarray(found.x)
    curvature = approx_hess(at, loss, epsilon=np.full(2, 1e-3))
    # At its bound the spread is given, and tells nothing of the mean.
    information = curvature[0, 0] - (
        curvature[0, 1] ** 2 / curvature[1, 1] if curvature[1, 1] > 1e-6 else 0.0
    )
    error = 1 / math.sqrt(information) if information > 0 else math.nan
    return float(at[0]), error, _mean_and_spread(at)[1]


def _mean_and_spread(at: NDArray[np.float64]) -> tuple[float, float]:
    mean, spread = (float(x) for x in 1 / (1 + np.exp(-np.clip(at, -12.0, 12.0))))
    return mean, LEAST_SPREAD + (1 - 2 * LEAST_SPREAD) * spread
