"""Estimate numbers of taxa, with intervals, from counts of individuals or samples.

``f_k`` is the number of taxa with k individuals, ``Q_k`` the number of taxa found in k samples.
Three variants of Chao's estimator give three answers on the same data; each result carries its
formula. docs/analyst.md says how often each interval holds the truth.

What ends in ``_values`` gives the number alone, for every row of many samples at once: int64
arrays of shape (samples, taxa), zeros for taxa that a sample has not. Errors come from thousands
of drawn samples.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from triage.estimates.interval import (
    FEWEST_VISITS,
    Z95,
    Estimate,
    log_normal,
    too_few,
)

ChaoVariant = Literal["small-sample", "classic", "bias-corrected"]
CHAO_FORMULAS: dict[ChaoVariant, str] = {
    "small-sample": "S + (n-1)/n f1^2/(2 f2)",
    "classic": "S + f1^2/(2 f2)",
    "bias-corrected": "S + f1(f1-1)/(2(f2+1))",
}
RARE = 10  # Chao & Lee 1992: taxa with at most so many individuals or samples count as rare


def chao1(counts: ArrayLike, *, variant: ChaoVariant = "small-sample") -> Estimate:
    """Chao1, a lower bound of the number of taxa from individuals by taxon.

    Parameters
    ----------
    counts : array_like of int
        Individuals of each taxon; zeros are ignored.
    variant : {"small-sample", "classic", "bias-corrected"}
        (n-1)/n f1^2/(2 f2); without the factor; f1(f1-1)/(2(f2+1)). Without doubletons the first
        two fall back to f1(f1-1)/2, with and without the factor.

    Returns
    -------
    Estimate
        At least the number observed; 0 for no individuals. Log-normal 95 % interval, with the
        variance as published in closed form (for the bias-corrected variant it leaves out the
        term e^2/S, e = f1(f1+f2)/(2(f2+1)^2), of the full delta method: 11.585 for 11.584).
        Where nothing was met once only, an interval for what may still be missing.

    References
    ----------
    Chao, A. (1984) Scand. J. Stat. 11: 265-270. Variants and variances: Chao, A. & Chiu, C.-H.
    (2016) in Wiley StatsRef, doi 10.1002/9781118445112.stat03432.pub2

    Examples
    --------
    >>> round(chao1([5, 3, 2, 1, 1, 1], variant="bias-corrected").value, 2)
    7.5
    """
    kept = positive(counts)
    total = int(kept.sum())
    return _chao(kept, total, variant, f"Chao1 {CHAO_FORMULAS[variant]}")


def chao2(
    frequencies: ArrayLike, samples: int, *, variant: ChaoVariant = "small-sample"
) -> Estimate:
    """Chao2, the same from the number of samples in which each taxon was found.

    Parameters
    ----------
    frequencies : array_like of int
        Samples with each taxon, each at most ``samples``; zeros are ignored.
    samples : int
        How many samples (visits) there were; with fewer than FEWEST_VISITS there is no interval.

    Raises
    ------
    ValueError
        If a taxon was found in more samples than there were.

    References
    ----------
    Chao, A. (1987) Biometrics 43: 783-791. doi 10.2307/2531532
    """
    kept = positive(frequencies, samples)
    name = CHAO_FORMULAS[variant].replace("f", "Q").replace("n", "m")
    found = _chao(kept, samples, variant, f"Chao2 {name}")
    return too_few(found) if samples < FEWEST_VISITS else found


def ace(counts: ArrayLike) -> Estimate:
    """Abundance-based coverage estimator; taxa with at most ten individuals count as rare.

    Returns
    -------
    Estimate
        Without interval. Falls back to Chao1 (bias-corrected) when every rare individual is a
        singleton and the coverage of the rare taxa would be zero; the variant says so.

    References
    ----------
    Chao, A. & Lee, S.-M. (1992) Estimating the number of classes via sample coverage. J. Am.
    Stat. Assoc. 87: 210-217. doi 10.1080/01621459.1992.10475194
    """
    kept = positive(counts)
    return _coverage_based(kept, float(ace_values(kept[None])[0]), "ACE")


def ice(frequencies: ArrayLike, samples: int, *, samples_with_rare: int) -> Estimate:
    """Incidence-based coverage estimator; taxa in at most ten samples count as infrequent.

    Parameters
    ----------
    frequencies : array_like of int
        Samples with each taxon.
    samples : int
    samples_with_rare : int
        How many samples hold at least one infrequent taxon.

    Returns
    -------
    Estimate
        Without interval; falls back as :func:`ace` does.

    Raises
    ------
    ValueError
        If a taxon was found in more samples than there were.

    References
    ----------
    Lee, S.-M. & Chao, A. (1994) Biometrics 50: 88-97. doi 10.2307/2533199; Chazdon, R. L. et al.
    (1998). From memory, checked against one other implementation.
    """
    kept = positive(frequencies, samples)
    value = ice_values(kept[None], np.array([samples_with_rare]))[0]
    return _coverage_based(kept, float(value), "ICE")


def jackknife(
    frequencies: ArrayLike,
    samples: int,
    *,
    order: Literal[1, 2] = 1,
    uniques_by_sample: Sequence[int] | None = None,
) -> Estimate:
    """First- or second-order jackknife over samples.

    Parameters
    ----------
    frequencies : array_like of int
        Samples with each taxon.
    samples : int
    order : {1, 2}
    uniques_by_sample : sequence of int, optional
        How many taxa were found in this sample alone, for each sample: gives the standard error
        of the first order, the same as leaving each sample out once, and a log-normal interval.

    Raises
    ------
    ValueError
        If a taxon was found in more samples than there were.

    References
    ----------
    Burnham, K. P. & Overton, W. S. (1979) Ecology 60: 927-936. doi 10.2307/1936861; variance of
    the first order: Heltshe, J. F. & Forrester, N. E. (1983) Biometrics 39: 1-11.
    """
    kept = positive(frequencies, samples)
    once, t = int((kept == 1).sum()), samples
    if t == 0:
        return Estimate(value=0.0, variant=f"jackknife {order}")
    if order == 1:
        value = len(kept) + once * (t - 1) / t
        if uniques_by_sample is None:
            return Estimate(value=value, variant="jackknife 1")
        squares = sum(count * count for count in uniques_by_sample)
        variance = (t - 1) / t * (squares - once * once / t)
        found = log_normal(len(kept), value, variance, variant="jackknife 1")
        return too_few(found) if t < FEWEST_VISITS else found
    return Estimate(value=float(jackknife_2_values(kept[None], t)[0]), variant="jackknife 2")


def bootstrap(frequencies: ArrayLike, samples: int) -> Estimate:
    """Bootstrap estimator of richness: S + sum (1 - p)^t.

    Raises
    ------
    ValueError
        If a taxon was found in more samples than there were.

    References
    ----------
    Smith, E. P. & van Belle, G. (1984) Nonparametric estimation of species richness. Biometrics
    40: 119-129. doi 10.2307/2530750
    """
    kept = positive(frequencies, samples)
    if samples == 0:
        return Estimate(value=0.0, variant="bootstrap")
    return Estimate(value=float(bootstrap_values(kept[None], samples)[0]), variant="bootstrap")


def chao_values(
    rows: NDArray[np.int64], sizes: ArrayLike, *, variant: ChaoVariant
) -> NDArray[np.float64]:
    """Chao1, or Chao2, of each row; ``sizes`` are the individuals, or the samples, of each."""
    f1, f2, size = _counted(rows, 1), _counted(rows, 2), np.asarray(sizes)
    factor = (size - 1) / np.maximum(size, 1) if variant == "small-sample" else 1.0
    pairs = factor * (f1 * (f1 - 1) / (2 * (f2 + 1)))
    observed: NDArray[np.int64] = (rows > 0).sum(1)
    if variant == "bias-corrected":
        return np.asarray(observed + pairs)
    ratio = factor * f1 * (f1 / np.maximum(f2, 1)) / 2
    return np.asarray(observed + np.where(f2 == 0, pairs, ratio))


def ace_values(rows: NDArray[np.int64]) -> NDArray[np.float64]:
    """:func:`ace` of each row."""
    rare = _rare(rows)
    individuals = rare.sum(1)
    return _coverage_based_values(rows, 1.0, individuals * (individuals - 1))


def ice_values(rows: NDArray[np.int64], with_rare: NDArray[np.int64]) -> NDArray[np.float64]:
    """:func:`ice` of each row; ``with_rare`` samples of each hold an infrequent taxon."""
    factor = np.where(with_rare > 1, with_rare / np.maximum(with_rare - 1, 1), 1.0)
    return _coverage_based_values(rows, factor, _rare(rows).sum(1) ** 2)


def jackknife_2_values(rows: NDArray[np.int64], samples: int) -> NDArray[np.float64]:
    """The second-order jackknife of each row, all of so many samples."""
    t = samples
    found: NDArray[np.int64] = (rows > 0).sum(1)
    if t < 2:
        return found.astype(np.float64)
    once, twice = _counted(rows, 1), _counted(rows, 2)
    return np.asarray(found + once * (2 * t - 3) / t - twice * (t - 2) ** 2 / (t * (t - 1)))


def bootstrap_values(rows: NDArray[np.int64], samples: int) -> NDArray[np.float64]:
    """:func:`bootstrap` of each row, all of so many samples, at least one."""
    missed = np.where(rows > 0, (1 - rows / samples) ** samples, 0.0)
    return np.asarray((rows > 0).sum(1) + missed.sum(1))


def _chao(kept: NDArray[np.int64], total: int, variant: ChaoVariant, name: str) -> Estimate:
    observed = len(kept)
    if total == 0:
        return Estimate(value=0.0, variant=name)
    f1, f2 = int((kept == 1).sum()), int((kept == 2).sum())
    factor = (total - 1) / total if variant == "small-sample" else 1.0
    estimate = float(chao_values(kept[None], total, variant=variant)[0])
    if variant == "bias-corrected" or f2 == 0:
        variance = (
            factor * (f1 * (f1 - 1) / (2 * (f2 + 1)))
            + factor**2 * f1 * (2 * f1 - 1) ** 2 / (4 * (f2 + 1) ** 2)
            + factor**2 * f1**2 * f2 * (f1 - 1) ** 2 / (4 * (f2 + 1) ** 4)
        )
        if f2 == 0 and estimate > 0:
            variance -= factor**2 * f1**4 / (4 * estimate)
    else:
        ratio = f1 / f2
        variance = f2 * (factor / 2 * ratio**2 + factor**2 * ratio**3 + factor**2 / 4 * ratio**4)
    if estimate <= observed:
        return nothing_missing(kept, variant=name)
    return log_normal(observed, estimate, variance, variant=name)


def nothing_missing(kept: NDArray[np.int64], *, variant: str) -> Estimate:
    """The observed number, with an interval for what taxa as common as these may leave unseen.

    A taxon counted i times is missed with e^-i, as if counts were Poisson (as for f1 = 0 in
    Colwell, R. K. et al. 2012, J. Plant Ecol. 5: 3-21, and programs for Chao's estimators; from
    memory).
    """
    missed = np.exp(-kept.astype(np.float64))
    share = float(missed.mean())
    variance = float(missed.sum() - missed.sum() ** 2 / kept.sum())
    half = Z95 * math.sqrt(max(variance, 0.0)) / (1 - share)
    middle = len(kept) / (1 - share)
    return Estimate(
        value=float(len(kept)),
        low=float(max(len(kept), middle - half)),
        high=middle + half,
        variant=variant,
    )


def _coverage_based(kept: NDArray[np.int64], value: float, name: str) -> Estimate:
    rare = kept[kept <= RARE]
    only_singletons = len(rare) > 0 and int(rare.max()) == 1
    return Estimate(
        value=value, variant=f"{name}, as Chao bias-corrected" if only_singletons else name
    )


def _coverage_based_values(
    rows: NDArray[np.int64], factor: ArrayLike, pairs_possible: NDArray[np.int64]
) -> NDArray[np.float64]:
    rare = _rare(rows)
    taxa, individuals, singletons = (rare > 0).sum(1), rare.sum(1), _counted(rows, 1)
    abundant = (rows > RARE).sum(1)
    coverage = 1 - singletons / np.maximum(individuals, 1)
    covered = np.where(coverage > 0, coverage, 1.0)
    pairs = (rare * (rare - 1)).sum(1).astype(np.float64)
    gamma = taxa / covered * factor * pairs / np.maximum(pairs_possible, 1) - 1
    estimate = abundant + taxa / covered + singletons / covered * np.maximum(gamma, 0.0)
    fallback = abundant + (taxa + singletons * (singletons - 1) / 2)
    return np.asarray(np.where(coverage > 0, estimate, fallback))


def _rare(rows: NDArray[np.int64]) -> NDArray[np.int64]:
    """The rows with nothing but the rare taxa."""
    return np.asarray(np.where(rows <= RARE, rows, 0))


def _counted(rows: NDArray[np.int64], times: int) -> NDArray[np.int64]:
    """The number of taxa that each row counts so many times."""
    return np.asarray((rows == times).sum(1))


def positive(counts: ArrayLike, samples: int | None = None) -> NDArray[np.int64]:
    """The counts above 0, checked: whole numbers, and none above the number of samples.

    Raises
    ------
    ValueError
        If they are not, or a taxon was found in more samples than there are.
    """
    kept = np.asarray(counts, dtype=np.int64)
    if kept.ndim != 1 or (kept < 0).any():
        raise ValueError("counts are one row of whole numbers, none negative")
    if samples is not None and (samples < 0 or kept.max(initial=0) > samples):
        raise ValueError(f"a taxon cannot be in more samples than there are ({samples})")
    return kept[kept > 0]
