"""Counts by taxon in, coverage, rarefaction, extrapolation and accumulation with intervals out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from triage.estimates.interval import Estimate, normal
from triage.estimates.richness import chao1


def coverage(counts: Sequence[int]) -> float:
    """Estimated share of the community's individuals that belong to observed taxa.

    Returns
    -------
    float in [0, 1]
        NaN for no individuals. Without doubletons the fallback of the source is used.

    References
    ----------
    Chao, A. & Jost, L. (2012) Coverage-based rarefaction and extrapolation. Ecology 93:
    2533-2547. doi 10.1890/11-1952.1
    """
    return coverage_at(counts, int(sum(counts)))


def coverage_at(counts: Sequence[int], individuals: int) -> float:
    """Expected coverage of a sample of another size, smaller or larger.

    Raises
    ------
    ValueError
        If ``individuals`` is negative.
    """
    kept = np.array([c for c in counts if c > 0], dtype=np.int64)
    total = int(kept.sum())
    if individuals < 0:
        raise ValueError("a sample has no negative size")
    if total == 0:
        return math.nan
    if individuals < total:
        missing = _choose(total - kept, individuals) - _choose(
            np.full_like(kept, total - 1), individuals
        )
        return float(1 - (kept / total * np.exp(missing)).sum())
    f1, f2 = int((kept == 1).sum()), int((kept == 2).sum())
    if f1 == 0:
        return 1.0
    if f2 > 0:
        unseen = (total - 1) * f1 / ((total - 1) * f1 + 2 * f2)
    elif f1 > 1:
        unseen = (total - 1) * (f1 - 1) / ((total - 1) * (f1 - 1) + 2)
    else:
        unseen = 1.0
    return float(1 - f1 / total * unseen ** (individuals - total + 1))


def coverage_of_samples(frequencies: Sequence[int], samples: int) -> float:
    """Estimated share of all incidences out there that belong to observed taxa.

    Parameters
    ----------
    frequencies : sequence of int
        Samples with each taxon, each at most ``samples``.
    samples : int
        How many samples (visits) there were.

    Returns
    -------
    float in [0, 1]
        NaN where nothing was found or there was one sample, which repeats nothing. Without taxa
        found twice the fallback of the source is used.

    Raises
    ------
    ValueError
        If a taxon was found in more samples than there were.

    References
    ----------
    Chao, A. & Jost, L. (2012) Ecology 93: 2533-2547. doi 10.1890/11-1952.1; for samples: Chao, A.
    et al. (2014) Ecol. Monogr. 84: 45-67. doi 10.1890/13-0133.1

    Examples
    --------
    >>> round(coverage_of_samples([3, 2, 1], 4), 3)
    0.9
    """
    kept = [f for f in frequencies if f > 0]
    if kept and max(kept) > samples:
        raise ValueError(f"a taxon cannot be in more samples than there are ({samples})")
    total = sum(kept)
    if total == 0 or samples < 2:
        return math.nan
    once, twice = kept.count(1), kept.count(2)
    if once == 0:
        return 1.0
    if twice > 0:
        unseen = (samples - 1) * once / ((samples - 1) * once + 2 * twice)
    elif once > 1:
        unseen = (samples - 1) * (once - 1) / ((samples - 1) * (once - 1) + 2)
    else:
        unseen = 1.0
    return 1 - once / total * unseen


def extrapolated(counts: Sequence[int], individuals: int) -> float:
    """Expected number of taxa in a larger sample (safe to about twice the sample).

    Raises
    ------
    ValueError
        If ``individuals`` is less than there are.

    References
    ----------
    Chao, A. et al. (2014) Rarefaction and extrapolation with Hill numbers. Ecol. Monogr. 84:
    45-67. doi 10.1890/13-0133.1
    """
    kept = [c for c in counts if c > 0]
    total = sum(kept)
    if individuals < total:
        raise ValueError(f"{individuals} individuals are fewer than the {total} there are")
    observed = len(kept)
    f1 = sum(c == 1 for c in kept)
    unseen = chao1(kept).value - observed
    if unseen <= 0 or f1 == 0:
        return float(observed)
    stays = 1 - f1 / (total * unseen + f1)
    return observed + unseen * (1 - stays ** (individuals - total))


def sized(
    counts: Sequence[int], sizes: Sequence[int], *, seed: int, rounds: int = 199
) -> list[Estimate]:
    """Expected number of taxa at each size, rarefied or extrapolated, with 95 % intervals.

    Parameters
    ----------
    counts : sequence of int
        Individuals of each taxon.
    sizes : sequence of int
        Numbers of individuals, not negative; safe to about twice the sample.
    seed : int
        For the interval.
    rounds : int
        How many samples are drawn from the estimated community.

    Returns
    -------
    list of Estimate
        In the order of the sizes; the variant says which side of the sample a size lies on. The
        error is that of samples of the same size from the estimated community, so it holds for
        the community and not for this sample alone. Empty counts give 0 without an interval.

    Raises
    ------
    ValueError
        If a size is negative.

    Notes
    -----
    The estimated community: the observed taxa with their shares lowered by the missing coverage,
    and Chao1's unseen taxa with equal parts of it.

    References
    ----------
    Hurlbert, S. H. (1971) Ecology 52: 577-586. doi 10.2307/1934145 (rarefaction); Chao, A. et al.
    (2014) Rarefaction and extrapolation with Hill numbers. Ecol. Monogr. 84: 45-67, appendix G.
    doi 10.1890/13-0133.1
    """
    if any(size < 0 for size in sizes):
        raise ValueError("a sample has no negative size")
    kept = np.array([c for c in counts if c > 0], dtype=np.int64)
    total = int(kept.sum())
    if total == 0:
        return [Estimate(value=0.0, variant="rarefaction") for _ in sizes]
    random = np.random.default_rng(seed)
    shares = _community(kept)
    drawn = np.array(
        [
            [_expected(again, size) for size in sizes]
            for again in random.multinomial(total, shares, size=rounds)
        ]
    ).reshape(rounds, len(sizes))
    errors = drawn.std(axis=0, ddof=1) if rounds > 1 else np.full(len(sizes), math.nan)
    return [
        _cut_at_zero(
            normal(
                _expected(kept, size),
                float(error),
                variant="rarefaction" if size <= total else "extrapolation",
            )
        )
        for size, error in zip(sizes, errors, strict=True)
    ]


def _community(kept: NDArray[np.int64]) -> NDArray[np.float64]:
    total = int(kept.sum())
    missing = 1 - coverage([int(c) for c in kept])
    unseen = math.ceil(chao1([int(c) for c in kept]).value - len(kept))
    share = kept / total
    weight = share * (1 - share) ** total
    if unseen <= 0 or weight.sum() == 0:
        return np.asarray(share)
    seen = share - missing / weight.sum() * weight
    together = np.concatenate([np.maximum(seen, 0.0), np.full(unseen, missing / unseen)])
    return np.asarray(together / together.sum())


def _expected(counts: NDArray[np.int64], size: int) -> float:
    kept = counts[counts > 0]
    total = int(kept.sum())
    if size > total:
        return extrapolated([int(c) for c in kept], size)
    whole = _choose(np.array([total]), size)[0]
    return float((1 - np.exp(_choose(total - kept, size) - whole)).sum())


def _cut_at_zero(found: Estimate) -> Estimate:
    return found if not found.low < 0 else replace(found, low=0.0)


def accumulation(
    frequencies: Sequence[int], samples: int, *, sizes: Sequence[int] | None = None
) -> NDArray[np.float64]:
    """Expected number of taxa in 1, 2, ... samples: the exact mean over all orders of samples.

    Parameters
    ----------
    frequencies : sequence of int
        Samples with each taxon.
    samples : int
    sizes : sequence of int, optional
        Only these numbers of samples, each from 1 to ``samples``; all of them when left out.

    Returns
    -------
    float array, shape (samples,) or (len(sizes),)
        For all samples it is the number observed.

    References
    ----------
    Ugland, K. I., Gray, J. S. & Ellingsen, K. E. (2003) J. Anim. Ecol. 72: 888-897.
    doi 10.1046/j.1365-2656.2003.00748.x; also known as Mao Tau (Colwell, R. K., Mao, C. X. &
    Chang, J. 2004, Ecology 85: 2717-2727)
    """
    kept = np.array([f for f in frequencies if f > 0], dtype=np.int64)
    chosen = range(1, samples + 1) if sizes is None else sizes
    whole = np.array([samples])
    return np.array(
        [
            float((1 - np.exp(_choose(samples - kept, int(t)) - _choose(whole, int(t))[0])).sum())
            for t in chosen
        ]
    )


def _choose(n: NDArray[np.int64], k: int) -> NDArray[np.float64]:
    """Logarithm of the binomial coefficient; minus infinity where k > n."""
    from scipy.special import gammaln

    top = np.asarray(n, dtype=np.float64)
    with np.errstate(invalid="ignore", divide="ignore"):
        values = gammaln(top + 1) - gammaln(k + 1) - gammaln(np.maximum(top - k, 0) + 1)
    return np.where(top >= k, values, -np.inf)
