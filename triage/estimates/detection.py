"""Searches of sites in, how sure an absence is out: not found is not absent."""

from __future__ import annotations

import math
from collections.abc import Sequence

from triage.estimates.interval import Estimate, normal

PUBLISHED_DETECTION = 0.64
"""A pass along a river bank for Anisoptera exuviae, Wisconsin: 0.49 to 0.75, mean 0.64 (DuBois
2015, Int. J. Odonatol. 18, one study of ten stations). Ponds and damselflies are not covered."""


def missed_probability(detection: float, passes: int) -> float:
    """Chance that searches miss a taxon that is there, passes being independent.

    Parameters
    ----------
    detection : float in [0, 1]
        Of one pass.
    passes : int
        Not negative.

    Returns
    -------
    float in [0, 1]
        1 without any pass.

    Raises
    ------
    ValueError
        If either is out of range.

    Examples
    --------
    >>> round(1 - missed_probability(0.64, 3), 2)
    0.95
    """
    if not 0 <= detection <= 1 or passes < 0:
        raise ValueError("detection lies in 0 to 1, passes are not negative")
    return float((1 - detection) ** passes)


def absence_probability(detection: float, passes: int, *, prior: float) -> float:
    """Chance that a taxon is absent after searches without a find (Bayes' rule).

    Parameters
    ----------
    detection : float in [0, 1]
    passes : int
    prior : float in [0, 1]
        Chance of presence before the searches, such as the share of searched sites that have it.

    Returns
    -------
    float in [0, 1]

    Raises
    ------
    ValueError
        If anything is out of range.
    """
    if not 0 <= prior <= 1:
        raise ValueError("a prior lies in 0 to 1")
    missed = prior * missed_probability(detection, passes)
    return 1.0 if prior == 0 else (1 - prior) / (1 - prior + missed)


def estimate_detection(searches: Sequence[tuple[int, int]]) -> Estimate:
    """Detection of one search, from sites searched repeatedly that gave the taxon at least once.

    Parameters
    ----------
    searches : sequence of (finds, searches)
        One pair a site and season; sites without finds or with a single search say nothing and
        are left out.

    Returns
    -------
    Estimate
        Maximum likelihood of the zero-truncated binomial with a normal interval cut to [0, 1];
        NaN when no site was searched twice. It takes detection as the same everywhere.

    Raises
    ------
    ValueError
        If there are more finds than searches.

    References
    ----------
    The conditional likelihood of closed capture-recapture: Huggins, R. M. (1989) Biometrika 76:
    133-140. doi 10.1093/biomet/76.1.133
    """
    if any(not 0 <= finds <= total for finds, total in searches):
        raise ValueError("there cannot be more finds than searches")
    kept = [(finds, total) for finds, total in searches if finds >= 1 and total >= 2]
    name = "zero-truncated binomial"
    if not kept:
        return Estimate(value=math.nan, variant=name)
    if all(finds == total for finds, total in kept):
        return Estimate(value=1.0, low=math.nan, high=1.0, variant=f"{name}, at its bound")
    if all(finds == 1 for finds, _ in kept):
        return Estimate(value=0.0, low=0.0, high=math.nan, variant=f"{name}, at its bound")
    from scipy.optimize import brentq

    def score(p: float) -> float:
        return sum(
            finds / p
            - (total - finds) / (1 - p)
            - total * (1 - p) ** (total - 1) / (1 - (1 - p) ** total)
            for finds, total in kept
        )

    value = float(brentq(score, 1e-9, 1 - 1e-9))
    step = 1e-5
    information = -(score(value + step) - score(value - step)) / (2 * step)
    error = 1 / math.sqrt(information) if information > 0 else math.nan
    found = normal(value, error, variant=name)
    return Estimate(
        value=value,
        low=max(found.low, 0.0),
        high=min(found.high, 1.0),
        standard_error=error,
        variant=name,
    )
