"""Give a figure its interval by drawing groups of photos anew, since those of one are alike.

Intervals are the 2.5 and 97.5 percent points over groups drawn with replacement (bootstrap).

References
----------
B. Efron, 1979. Bootstrap methods: another look at the jackknife. Annals of Statistics 7:1-26.
doi:10.1214/aos/1176344552.
J. A. Hanley and B. J. McNeil, 1982. The meaning and use of the area under a receiver operating
characteristic (ROC) curve. Radiology 143:29-36. doi:10.1148/radiology.143.1.7063747.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from triage.bench.running import markdown

DRAWS = 1000  # times that the groups are drawn anew
Floats = NDArray[np.float64]
Rows = NDArray[np.intp]
NONE = float("nan")


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """One answer, NaN where nothing bears on it; ``count`` is how many photos, or pairs, do."""

    name: str
    value: float
    low: float
    high: float
    count: int

    def row(self) -> tuple[str, str, str, str]:
        """One row of the table."""
        known = self.low == self.low  # not a NaN
        interval = f"{self.low:.3f} to {self.high:.3f}" if known else "one group, none"
        return self.name, f"{self.value:.3f}", interval, f"{self.count:,}"


def table(found: Iterable[Figure], *, what: str = "what", of: str = "photos") -> list[str]:
    """The figures that something bears on, as a table in Markdown."""
    rows = [one.row() for one in found if one.value == one.value]
    return markdown((what, "value", "95 % interval", of), rows)


def numbered(groups: Sequence[object]) -> Rows:
    """The number of each row's group, in the order of the groups' names."""
    if not groups:
        return np.empty(0, dtype=np.intp)
    return np.unique(np.asarray(groups), return_inverse=True)[1]


def drawn_groups(groups: Sequence[object], *, draws: int) -> Iterable[Rows]:
    """How often each group is drawn, in the order of their names; no draw of a single group."""
    count, random = len(set(groups)), np.random.default_rng(0)
    for _ in range(draws if count > 1 else 0):
        yield random.integers(0, count, count)


def bounds(values: Iterable[float]) -> tuple[float, float]:
    """The interval that drawn values give; NaN where none is known."""
    known = [value for value in values if value == value]
    low, high = np.percentile(known, (2.5, 97.5)) if known else (NONE, NONE)
    return float(low), float(high)


def figure(
    name: str,
    groups: Sequence[object],
    answer: Callable[[Rows], float],
    *,
    count: int | None = None,
    draws: int = DRAWS,
) -> Figure:
    """The answer about all rows, whose groups are given, with its interval."""
    numbers = numbered(groups)
    members = [np.flatnonzero(numbers == one) for one in range(len(set(groups)))]
    low, high = bounds(
        answer(np.concatenate([members[one] for one in drawn]))
        for drawn in drawn_groups(groups, draws=draws)
    )
    return Figure(
        name=name,
        value=answer(np.arange(len(groups))),
        low=low,
        high=high,
        count=len(groups) if count is None else count,
    )


def area_under_curve(scores: Floats, better: NDArray[np.bool_]) -> float:
    """The chance that a better one outscores a worse one, ties counting half (Mann-Whitney U).

    NaN where one of the two kinds is missing (Hanley and McNeil 1982).

    Examples
    --------
    >>> area_under_curve(np.array([1.0, 2.0, 3.0]), np.array([False, True, True]))
    1.0
    """
    from scipy.stats import rankdata

    above, below = int(better.sum()), int((~better).sum())
    if not above or not below:
        return NONE
    ranks = rankdata(scores)
    return float((ranks[better].sum() - above * (above + 1) / 2) / (above * below))
