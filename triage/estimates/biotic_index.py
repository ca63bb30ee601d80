"""Compute a water's biotic index from scores of taxa, and rank it against measurements."""

from __future__ import annotations

import functools
import itertools
import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from triage.estimates.interval import Z95

EXACT_BELOW = 10  # pairs; nine have 362,880 orders

Statistic = Callable[[NDArray[np.float64], NDArray[np.float64]], NDArray[np.float64]]

WARNING = (
    "A rank correlation over a few waters shows that two things vary together here. It shows no"
    " cause, and says nothing about waters that were not measured; with many variables some will"
    " seem related by chance."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class BioticIndex:
    """Sum of scores, and the mean per scored taxon (NaN without one)."""

    total: float
    per_taxon: float
    scored: tuple[str, ...]
    without_score: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RankCorrelation:
    """Spearman's rho and Kendall's tau-b with two-sided p; NaN with fewer than three pairs.

    ``rho_low`` and ``rho_high`` are 95 % bounds, NaN with fewer than five pairs and where all lie
    in one order: there the formula would close on 1.
    """

    pairs: int
    rho: float
    rho_p: float
    tau: float
    tau_p: float
    rho_low: float = math.nan
    rho_high: float = math.nan
    warning: str = WARNING


def biotic_index(taxa: Iterable[str], scores: Mapping[str, float]) -> BioticIndex:
    """Add up the scores of the taxa that breed at a water, by a score table of the user's.

    Examples
    --------
    >>> found = biotic_index(["a", "b", "c"], {"a": 7, "b": 3})
    >>> found.total, found.per_taxon, found.without_score
    (10.0, 5.0, ('c',))
    """
    listed = sorted(set(taxa))
    scored = tuple(name for name in listed if name in scores)
    total = float(sum(scores[name] for name in scored))
    return BioticIndex(
        total=total,
        per_taxon=total / len(scored) if scored else math.nan,
        scored=scored,
        without_score=tuple(name for name in listed if name not in scores),
    )


def rank_correlation(first: Sequence[float], second: Sequence[float]) -> RankCorrelation:
    """Rank correlation of two measures over the same waters; pairs with a NaN are left out.

    Raises
    ------
    ValueError
        If the lengths differ.

    Notes
    -----
    Below EXACT_BELOW pairs both p are exact: over all orders of the second measure, ties kept.

    References
    ----------
    Spearman, C. (1904) Am. J. Psychol. 15: 72-101. doi 10.2307/1412159; Kendall, M. G. (1938)
    Biometrika 30: 81-93. doi 10.1093/biomet/30.1-2.81. Interval: Bonett, D. G. & Wright, T. A.
    (2000) Psychometrika 65: 23-28. doi 10.1007/BF02294183
    """
    if len(first) != len(second):
        raise ValueError("each water needs both values")
    kept = [
        (a, b) for a, b in zip(first, second, strict=True) if not (math.isnan(a) or math.isnan(b))
    ]
    nothing = RankCorrelation(
        pairs=len(kept), rho=math.nan, rho_p=math.nan, tau=math.nan, tau_p=math.nan
    )
    if len(kept) < 3 or len({a for a, _ in kept}) < 2 or len({b for _, b in kept}) < 2:
        return nothing
    from scipy.stats import kendalltau, spearmanr

    one, other = [a for a, _ in kept], [b for _, b in kept]
    rho, tau = spearmanr(one, other), kendalltau(one, other)
    exact = len(kept) < EXACT_BELOW
    low, high = _rho_interval(float(rho.statistic), len(kept))
    return RankCorrelation(
        pairs=len(kept),
        rho=float(rho.statistic),
        rho_p=_exact_p(one, other, _products_of_ranks) if exact else float(rho.pvalue),
        tau=float(tau.statistic),
        tau_p=_exact_p(one, other, _concordance) if exact else float(tau.pvalue),
        rho_low=low,
        rho_high=high,
    )


def _exact_p(one: Sequence[float], other: Sequence[float], statistic: Statistic) -> float:
    """Two-sided share of all orders of the second that are at least as far from the middle."""
    from scipy.stats import rankdata

    first, second = rankdata(one), rankdata(other)
    found = statistic(first, second[_orders(len(second))])
    away = np.abs(found - found.mean())
    return float((away >= away[0] - 1e-9).mean())  # the first order is the one observed


@functools.cache
def _orders(count: int) -> NDArray[np.intp]:
    """All orders of so many things, the given one first."""
    return np.array(list(itertools.permutations(range(count))), dtype=np.intp)


def _products_of_ranks(
    first: NDArray[np.float64], second: NDArray[np.float64]
) -> NDArray[np.float64]:
    return np.asarray(second @ (first - first.mean()))


def _concordance(first: NDArray[np.float64], second: NDArray[np.float64]) -> NDArray[np.float64]:
    total = np.zeros(len(second))
    for i, j in itertools.combinations(range(len(first)), 2):
        total += np.sign(first[j] - first[i]) * np.sign(second[:, j] - second[:, i])
    return total


def _rho_interval(rho: float, pairs: int) -> tuple[float, float]:
    if pairs < 5 or abs(rho) >= 1 - 1e-12:
        return math.nan, math.nan
    half = Z95 * math.sqrt((1 + rho**2 / 2) / (pairs - 3))
    return math.tanh(math.atanh(rho) - half), math.tanh(math.atanh(rho) + half)
