"""Estimate effective numbers of taxa (Hill numbers) of a sample, and of the community behind it.

Counts, samples, n and rows are those of `triage.estimates.accumulation`, which has the references.
"""

from __future__ import annotations

import math
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from triage.estimates.accumulation import (
    chao_of_rows,
    expected_of_rows,
    expected_taxa,
    log_choose,
    sample_of,
    singles,
)

Order = Literal[0, 1, 2]


def hill_number(
    counts: ArrayLike, samples: int | None = None, *, order: Order, size: int | None = None
) -> float:
    """Effective number of taxa of a sample of a size up to the whole, as observed.

    Parameters
    ----------
    order : {0, 1, 2}
        0 counts all taxa alike, 1 by how common they are (exp of Shannon's entropy), 2 mostly the
        dominant ones (inverse of Simpson's concentration).
    size : int, optional
        Rarefied to this size; the whole when left out. The others are those of `coverage`.

    Returns
    -------
    float
        At least 1 where anything was found, else 0.

    Raises
    ------
    ValueError
        A size of 0 or beyond the whole, or as `coverage` does.
    """
    kept, n = sample_of(counts, samples)
    m = n if size is None else size
    if not 0 < m <= max(n, 1):
        raise ValueError("Hill numbers are rarefied to a size from 1 to the whole")
    if not len(kept):
        return 0.0
    if order == 0:
        return expected_taxa(kept, samples, size=m)
    return float(hill_numbers(kept[None], n, m)[0, order])


def hill_numbers(rows: NDArray[np.int64], n: int, size: int) -> NDArray[np.float64]:
    """:func:`hill_number` of the orders 0, 1 and 2 of each row, all samples of n; (samples, 3)."""
    m = size
    number, where = np.unique(rows, return_inverse=True)
    times = np.arange(1, min(m, int(number[-1])) + 1)
    # Expected number of taxa that a sample of size m counts k times: hypergeometric.
    logs = (
        log_choose(number[:, None], times)
        + log_choose(n - number[:, None], m - times)
        - log_choose(n, m)
    )
    cells = where.reshape(rows.shape) + len(number) * np.arange(len(rows))[:, None]
    taxa = np.bincount(cells.ravel(), minlength=len(rows) * len(number))
    expected = taxa.reshape(len(rows), -1) @ np.exp(logs)
    total = rows.sum(1, keepdims=True)
    share = times / (m * np.maximum(total, 1) / n)
    first = np.exp(-(share * np.log(share) * expected).sum(1))
    second = 1 / np.where(total[:, 0] > 0, (share**2 * expected).sum(1), 1.0)
    found = np.column_stack([expected_of_rows(rows, n, n, m), first, second])
    return np.where(total > 0, found, 0.0)


def estimated_hill_numbers(
    rows: NDArray[np.int64], samples: int | None, n: int
) -> NDArray[np.float64]:
    """Hill numbers of the whole community behind each row: Chao's, Shannon's and Simpson's.

    Returns
    -------
    float array, shape (samples, 3)
        Order 0 a lower bound, orders 1 and 2 nearly unbiased; NaN without finds, for order 2
        where nothing was counted twice, and for fewer than two samples.

    References
    ----------
    Chao, A., Wang, Y. T. & Jost, L. (2013) Methods Ecol. Evol. 4: 1091-1100. doi
    10.1111/2041-210X.12108 (order 1); Chao et al. 2014, equations 8 to 10 (from memory)
    """
    total = rows.sum(1)
    if n < 2:
        return np.full((len(rows), 3), math.nan)
    counted = np.where(total > 0, total, 1)
    first = np.exp(_estimated_entropy(rows, n) * n / counted + np.log(counted / n))
    pairs = (rows * (rows - 1)).sum(1).astype(np.float64)
    second = np.where(pairs > 0, total**2 * (1 - 1 / n) / np.where(pairs > 0, pairs, 1), math.nan)
    found = np.column_stack([chao_of_rows(rows, samples), first, second])
    return np.where(total[:, None] > 0, found, math.nan)


def _estimated_entropy(rows: NDArray[np.int64], n: int) -> NDArray[np.float64]:
    """Shannon's entropy of the shares of n that taxa hold, with that of the unseen ones."""
    from scipy.special import digamma

    number, where = np.unique(rows, return_inverse=True)
    repeated = (number > 0) & (number < n)
    part = np.zeros(len(number))
    part[repeated] = number[repeated] / n * (digamma(n) - digamma(number[repeated]))
    entropy = part[where.reshape(rows.shape)].sum(1)
    once, of_row = np.unique([singles(row, n) for row in rows], axis=0, return_inverse=True)
    unseen = np.zeros(len(once))
    for place, (f1, stays) in enumerate(once):
        if f1 and stays < 1:
            powers = stays ** np.arange(1, n) / np.arange(1, n)
            unseen[place] = f1 / n * stays ** (1 - n) * (-math.log(1 - stays) - powers.sum())
    return np.asarray(entropy + unseen[of_row.ravel()])
