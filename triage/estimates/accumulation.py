"""Estimate coverage and numbers of taxa at any size of the sample.

One set of formulas serves both kinds of data (Chao et al. 2014): individuals by taxon, where a
sample of size m holds m individuals, and, with ``samples`` given, the samples (visits) in which
each taxon was found, where it holds m visits. ``n`` is the size of the whole, ``f_k`` the number
of taxa counted k times. What takes ``rows`` works on many samples of one size at once: int64
arrays of shape (samples, taxa), zeros for taxa that a sample has not.

References
----------
Chao, A. et al. (2014) Rarefaction and extrapolation with Hill numbers. Ecol. Monogr. 84: 45-67.
doi 10.1890/13-0133.1; Chao, A. & Jost, L. (2012) Ecology 93: 2533-2547. doi 10.1890/11-1952.1
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from triage.estimates.interval import Estimate, error_of_draws, normal, wilson
from triage.estimates.richness import chao1, chao2, chao_values, positive


def coverage(counts: ArrayLike, samples: int | None = None, *, size: int | None = None) -> float:
    """Estimated share of all individuals, or incidences, out there that belong to observed taxa.

    Parameters
    ----------
    counts : array_like of int
        Individuals of each taxon; or, with ``samples``, the samples that hold it.
    samples : int, optional
        How many samples there were.
    size : int, optional
        Expected coverage of a sample of this size instead, smaller or larger.

    Returns
    -------
    float in [0, 1]
        NaN for no finds, and for a single sample, which repeats nothing. Without taxa counted
        twice the fallback of Chao & Jost 2012 is used.

    Raises
    ------
    ValueError
        A taxon in more samples than there are, or a negative size.

    Examples
    --------
    >>> round(coverage([3, 2, 1], 4), 3)
    0.9
    """
    kept, n = sample_of(counts, samples)
    m = n if size is None else size
    if m < 0:
        raise ValueError("a sample has no negative size")
    total = int(kept.sum())
    if total == 0 or (samples is not None and samples < 2):
        return math.nan
    if m < n:
        missing = log_choose(n - kept, m) - log_choose(n - 1, m)
        return float(1 - (kept / total * np.exp(missing)).sum())
    f1, stays = singles(kept, n)
    return float(1 - f1 / total * stays ** (m - n + 1))


def coverage_with_interval(frequencies: ArrayLike, samples: int) -> Estimate:
    """:func:`coverage` by samples with a 95 % interval, within 0 to 1.

    Returns
    -------
    Estimate
        Normal with the error of Esty, sqrt(f1 (1 - f1/U) + 2 f2) / U of U incidences, which may
        reach 1: all taxa may have been found. Where nothing was met once only the lower bound is
        that of Wilson for none of U, or of Esty, the lower of both; where everything was, from 0
        to that of Wilson for all of U.

    Raises
    ------
    ValueError
        As :func:`coverage` does.

    References
    ----------
    Esty, W. W. (1983) A normal limit law for a nonparametric estimator of the coverage of a random
    sample. Ann. Stat. 11: 905-912. doi 10.1214/aos/1176346256
    """
    kept, _ = sample_of(frequencies, samples)
    value, total = coverage(kept, samples), int(kept.sum())
    name = "coverage by samples, Esty"
    if value != value:
        return Estimate(value=value, variant=name)
    f1, f2 = int((kept == 1).sum()), int((kept == 2).sum())
    error = math.sqrt(f1 * (1 - f1 / total) + 2 * f2) / total
    found = normal(value, error, variant=name, least=0.0, most=1.0)
    if f1 == total:
        return replace(found, low=0.0, high=max(value, 1 - wilson(total, total).low))
    return found if f1 else replace(found, low=min(found.low, 1 - wilson(0, total).high))


def expected_taxa(counts: ArrayLike, samples: int | None = None, *, size: int) -> float:
    """Expected number of taxa in a sample of another size (safe to about twice the whole).

    Parameters are those of :func:`coverage`.

    Returns
    -------
    float
        Smaller samples: the exact mean over all that could be drawn (Hurlbert 1971; for samples
        the mean over all their orders). Larger: extrapolated to Chao1 or Chao2, small-sample.

    Raises
    ------
    ValueError
        As :func:`coverage` does.

    References
    ----------
    Hurlbert, S. H. (1971) Ecology 52: 577-586. doi 10.2307/1934145; Ugland, K. I., Gray, J. S. &
    Ellingsen, K. E. (2003) J. Anim. Ecol. 72: 888-897. doi 10.1046/j.1365-2656.2003.00748.x
    """
    kept, n = sample_of(counts, samples)
    if size < 0:
        raise ValueError("a sample has no negative size")
    if not len(kept):
        return 0.0  # as in a resample of visits none of which found a taxon
    return float(expected_of_rows(kept[None], samples, n, size)[0])


def expected_of_rows(
    rows: NDArray[np.int64], samples: int | None, n: int, size: int
) -> NDArray[np.float64]:
    """:func:`expected_taxa` of each row, all samples of n."""
    if size <= n:
        number, where = np.unique(rows, return_inverse=True)
        found = 1 - np.exp(log_choose(n - number, size) - log_choose(n, size))
        return np.asarray(found[where.reshape(rows.shape)].sum(1))
    observed, f1 = (rows > 0).sum(1), (rows == 1).sum(1)
    unseen = chao_of_rows(rows, samples) - observed
    lacking = (unseen > 0) & (f1 > 0)
    stays = 1 - f1 / np.where(lacking, n * unseen + f1, 1.0)
    larger = observed + unseen * (1 - stays ** (size - n))
    return np.asarray(np.where(lacking, larger, observed))


def accumulation_errors(
    frequencies: ArrayLike, samples: int, sizes: Sequence[int]
) -> NDArray[np.float64]:
    """Standard errors of the taxa expected in so many samples, for the waters they stand for.

    Returns
    -------
    float array
        Closed form: sum over taxa of (1 - a)^2 less S(t)^2 over Chao2, with a the chance that t
        samples all miss the taxon. NaN beyond ``samples``, where the formula ends.

    References
    ----------
    Colwell, R. K. et al. (2012) J. Plant Ecol. 5: 3-21. doi 10.1093/jpe/rtr044, equation 5
    """
    kept, n = sample_of(frequencies, samples)
    whole = _chao(kept, samples).value

    def error(size: int) -> float:
        if size > n or not whole:
            return math.nan
        found = 1 - np.exp(log_choose(n - kept, size) - log_choose(n, size))
        return math.sqrt(max(float((found**2).sum() - found.sum() ** 2 / whole), 0.0))

    return np.array([error(int(size)) for size in sizes])


def sized(
    counts: ArrayLike,
    sizes: Sequence[int],
    *,
    samples: int | None = None,
    seed: int,
    rounds: int = 199,
) -> list[Estimate]:
    """Expected number of taxa at each size, rarefied or extrapolated, with 95 % intervals.

    Parameters are those of :func:`coverage`, and the seed and number of samples drawn.

    Returns
    -------
    list of Estimate
        The variant says on which side of the whole a size lies. The error is that of samples
        drawn from the estimated community (appendix G of Chao et al. 2014), for smaller numbers of
        samples that of :func:`accumulation_errors`: so it holds for the community and not for
        this sample alone. No finds give 0 without an interval.

    Raises
    ------
    ValueError
        As :func:`coverage` does.
    """
    kept, n = sample_of(counts, samples)
    values = [expected_taxa(kept, samples, size=size) for size in sizes]
    kinds = ["rarefaction" if size <= n else "extrapolation" for size in sizes]
    if not len(kept):
        return [Estimate(value=v, variant=k) for v, k in zip(values, kinds, strict=True)]
    drawn = draws_of_community(kept, samples, seed=seed, rounds=rounds)
    expected = [expected_of_rows(drawn, samples, n, size) for size in sizes]
    errors = error_of_draws(np.column_stack(expected))
    if samples is not None:
        published = accumulation_errors(kept, samples, sizes)
        errors = np.where(np.isnan(published), errors, published)
    return [
        normal(value, float(error), variant=kind, least=0.0)
        for value, error, kind in zip(values, errors, kinds, strict=True)
    ]


def draws_of_community(
    counts: ArrayLike, samples: int | None, *, seed: int, rounds: int
) -> NDArray[np.int64]:
    """Counts of samples of the same size from the estimated community, shape (rounds, taxa).

    Observed taxa with their shares lowered by the missing coverage, and Chao's unseen ones with
    equal parts of it (Chao et al. 2014, appendix G).
    """
    kept, n = sample_of(counts, samples)
    total = kept.sum() / n  # 1, or taxa per sample
    missing = 1 - coverage(kept, samples)
    unseen = math.ceil(_chao(kept, samples).value - len(kept))
    share = kept / n
    weight = share * (1 - share) ** n
    if unseen > 0 and weight.sum() > 0:
        seen = share * (1 - missing * total / weight.sum() * (1 - share) ** n)
        share = np.concatenate([np.maximum(seen, 0.0), np.full(unseen, total * missing / unseen)])
    random = np.random.default_rng(seed)
    if samples is None:
        return np.asarray(random.multinomial(n, share / share.sum(), size=rounds))
    return random.binomial(n, np.minimum(share, 1.0), size=(rounds, len(share)))


def size_of_coverage(counts: ArrayLike, samples: int | None = None, *, target: float) -> int:
    """Least size, up to the whole, whose expected coverage reaches the target.

    Returns
    -------
    int
        The whole where the target is not reached; what was found there is then compared at less
        than the target. Raises as :func:`coverage` does.
    """
    _, n = sample_of(counts, samples)
    low, high = 1, n
    while low < high:
        middle = (low + high) // 2
        if coverage(counts, samples, size=middle) >= target:
            high = middle
        else:
            low = middle + 1
    return low


def sample_of(counts: ArrayLike, samples: int | None) -> tuple[NDArray[np.int64], int]:
    """The counts above 0, and the size of the whole."""
    kept = positive(counts, samples)
    return kept, int(kept.sum()) if samples is None else samples


def _chao(kept: NDArray[np.int64], samples: int | None) -> Estimate:
    return chao1(kept) if samples is None else chao2(kept, samples)


def chao_of_rows(rows: NDArray[np.int64], samples: int | None) -> NDArray[np.float64]:
    """Chao1 of each row, Chao2 where there are samples, both small-sample."""
    sizes = rows.sum(1) if samples is None else samples
    return chao_values(rows, sizes, variant="small-sample")


def singles(kept: NDArray[np.int64], n: int) -> tuple[int, float]:
    """Taxa counted once, and the chance that the next draw still misses such a one."""
    f1, f2 = int((kept == 1).sum()), int((kept == 2).sum())
    if f1 == 0:
        return 0, 0.0
    if f2 > 0:
        return f1, (n - 1) * f1 / ((n - 1) * f1 + 2 * f2)
    return f1, (n - 1) * (f1 - 1) / ((n - 1) * (f1 - 1) + 2) if f1 > 1 else 1.0


def log_choose(n: ArrayLike, k: ArrayLike) -> NDArray[np.float64]:
    """Logarithm of the binomial coefficient; minus infinity where k > n or k < 0."""
    from scipy.special import gammaln

    top, taken = np.broadcast_arrays(np.asarray(n, dtype=np.float64), np.asarray(k, np.float64))
    fits = (taken >= 0) & (taken <= top)
    top, taken = np.where(fits, top, 0.0), np.where(fits, taken, 0.0)
    values = gammaln(top + 1) - gammaln(taken + 1) - gammaln(top - taken + 1)
    return np.where(fits, values, -np.inf)
