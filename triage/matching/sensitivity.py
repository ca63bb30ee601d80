"""Matches in; how their shares and leading sites change when a stated setting changes out."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from operator import attrgetter

from triage.matching.records import Match

HALF_AND_DOUBLE = (0.5, 1.0, 2.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class UnknownSitesEffect:
    """All sightings together with so many times the stated density of unknown sites.

    ``mean_share_of_none`` is the mean share of "none of the known sites"; ``none_leads`` counts
    the sightings whose likeliest explanation it is; ``leading_changed`` those whose likeliest
    explanation is another one than with the stated density.
    """

    factor: float
    sightings: int
    mean_share_of_none: float
    none_leads: int
    leading_changed: int


def shares_with(rows: Sequence[Match], factor: float) -> list[float]:
    """Shares of one sighting's rows with ``factor`` times the stated density of unknown sites.

    The likelihood of "none of the known sites" is proportional to that density, the others do
    not depend on it, so no match has to be computed again. Sites left out of the rows for their
    small shares stay left out.

    Raises
    ------
    ValueError
        The factor is not positive, or the rows are of more than one sighting.
    """
    if not factor > 0:
        raise ValueError("the factor must be positive")
    if len({row.sighting for row in rows}) > 1:
        raise ValueError("the rows must be those of one sighting")
    scaled = [row.likelihood * (1.0 if row.location_id else factor) for row in rows]
    total = sum(scaled)
    return [value / total if total else 0.0 for value in scaled]


def sensitivity(
    matches: Iterable[Match], *, factors: Sequence[float] = HALF_AND_DOUBLE
) -> list[UnknownSitesEffect]:
    """The effect of the density of unknown sites over all sightings, at each factor of it.

    Rows of one sighting stand together, as ``match_sightings`` gives them. Without sightings the
    mean share is 0.

    Raises
    ------
    ValueError
        A factor is not positive.
    """
    counted = 0
    none_share = [0.0] * len(factors)
    none_leads = [0] * len(factors)
    changed = [0] * len(factors)
    for rows in _by_sighting(matches):
        counted += 1
        stated = _leading(rows, 1.0)
        for index, factor in enumerate(factors):
            shares = shares_with(rows, factor)
            none_share[index] += sum(
                share for row, share in zip(rows, shares, strict=True) if not row.location_id
            )
            leading = _leading(rows, factor)
            none_leads[index] += leading == ""
            changed[index] += leading != stated
    return [
        UnknownSitesEffect(
            factor=factor,
            sightings=counted,
            mean_share_of_none=none_share[index] / counted if counted else 0.0,
            none_leads=none_leads[index],
            leading_changed=changed[index],
        )
        for index, factor in enumerate(factors)
    ]


def _by_sighting(matches: Iterable[Match]) -> Iterator[list[Match]]:
    for _, rows in groupby(matches, key=attrgetter("sighting")):
        yield list(rows)


def _leading(rows: Sequence[Match], factor: float) -> str:
    shares = shares_with(rows, factor)
    return max(zip(shares, (row.location_id for row in rows), strict=True))[1]
