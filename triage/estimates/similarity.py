"""Say how alike two lists of taxa are: adults against exuviae at one water."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from triage.estimates.interval import Estimate, wilson


@dataclass(frozen=True, slots=True, kw_only=True)
class ListComparison:
    """What two lists share. Both indices are NaN when both lists are empty: nothing to compare."""

    shared: tuple[str, ...]
    only_first: tuple[str, ...]
    only_second: tuple[str, ...]
    jaccard: Estimate
    sorensen: Estimate


def compare_lists(first: Iterable[str], second: Iterable[str]) -> ListComparison:
    """Jaccard and Sorensen similarity of two lists, with intervals.

    The interval is Wilson's for the share of all taxa that both lists have; Sorensen's follows
    from it by S = 2J / (1 + J). It treats taxa as independent, which they are not: read it as
    the least uncertainty.

    References
    ----------
    Jaccard, P. (1912) New Phytol. 11: 37-50. doi 10.1111/j.1469-8137.1912.tb05611.x; Sorensen, T.
    (1948) Biol. Skr. 5(4): 1-34

    Examples
    --------
    >>> found = compare_lists(["a", "b"], ["b", "c"])
    >>> round(found.jaccard.value, 3), round(found.sorensen.value, 3)
    (0.333, 0.5)
    """
    one, other = set(first), set(second)
    shared, union = one & other, one | other
    jaccard = wilson(len(shared), len(union))
    return ListComparison(
        shared=tuple(sorted(shared)),
        only_first=tuple(sorted(one - other)),
        only_second=tuple(sorted(other - one)),
        jaccard=Estimate(
            value=jaccard.value, low=jaccard.low, high=jaccard.high, variant="Jaccard, Wilson"
        ),
        sorensen=Estimate(
            value=_sorensen(jaccard.value),
            low=_sorensen(jaccard.low),
            high=_sorensen(jaccard.high),
            variant="Sorensen, Wilson",
        ),
    )


def _sorensen(jaccard: float) -> float:
    return math.nan if math.isnan(jaccard) else 2 * jaccard / (1 + jaccard)
