"""Show how shares and leading sites change when a stated setting changes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from operator import attrgetter

from triage.matching.records import Match

STATED = (1.0, 1.0)
SCENARIOS = (STATED, (0.2, 1.0), (5.0, 1.0), (1.0, 0.5), (1.0, 2.0))
"""Factors of the density of unknown waters and of the scale of movement."""


WHOLE = 1 - 1e-6  # shares of all rows of a sighting sum to 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """All sightings together, with other unknown waters or another reach of movement than stated.

    ``unknown`` is the factor of the density of unknown waters, ``scale`` that of every movement
    distance. ``mean_share_of_none`` is the mean share of "none of the known sites";
    ``none_leads`` counts the sightings whose likeliest explanation it is; ``leading_changed``
    those whose likeliest explanation is another one than as stated.
    """

    unknown: float
    scale: float
    sightings: int
    mean_share_of_none: float
    none_leads: int
    leading_changed: int


def shares_with(rows: Sequence[Match], unknown: float = 1.0, scale: float = 1.0) -> list[float]:
    """Shares of one sighting's rows with other settings than stated, without matching again.

    The likelihood of "none of the known sites" is proportional to the density of unknown waters;
    every row carries its likelihood at half and at twice the scale of movement. Sites left out
    of the rows for their small shares stay left out.

    Raises
    ------
    ValueError
        A factor is not positive, a scale other than 0.5, 1 or 2, or rows of several sightings.
    """
    if not unknown > 0:
        raise ValueError("the factor must be positive")
    if len({row.sighting for row in rows}) > 1:
        raise ValueError("the rows must be those of one sighting")
    kept = {0.5: "likelihood_near", 1.0: "likelihood", 2.0: "likelihood_far"}
    if scale not in kept:
        raise ValueError("matches are kept at half, once and twice the scale of movement")
    scaled = [getattr(row, kept[scale]) * (1.0 if row.location_id else unknown) for row in rows]
    total = sum(scaled)
    return [value / total if total else 0.0 for value in scaled]


def sensitivity(
    matches: Iterable[Match], *, scenarios: Sequence[tuple[float, float]] = SCENARIOS
) -> list[Effect]:
    """What each scenario does to all sightings; without sightings the mean share is 0.

    Rows of one sighting stand together, as ``match_sightings`` gives them. A sighting of which rows
    are missing, as a release leaves them out, is not counted: the rest says nothing of its shares.

    Raises
    ------
    ValueError
        As for ``shares_with``.
    """
    every = [rows for rows in _by_sighting(matches) if sum(row.share for row in rows) > WHOLE]
    stated = [_leading(rows, *STATED) for rows in every]
    effects = []
    for unknown, scale in scenarios:
        of_none = [
            share
            for rows in every
            for row, share in zip(rows, shares_with(rows, unknown, scale), strict=True)
            if not row.location_id
        ]
        leading = [_leading(rows, unknown, scale) for rows in every]
        effects.append(
            Effect(
                unknown=unknown,
                scale=scale,
                sightings=len(every),
                mean_share_of_none=sum(of_none) / len(every) if every else 0.0,
                none_leads=leading.count(""),
                leading_changed=sum(a != b for a, b in zip(leading, stated, strict=True)),
            )
        )
    return effects


def _by_sighting(matches: Iterable[Match]) -> Iterator[list[Match]]:
    for _, rows in groupby(matches, key=attrgetter("sighting")):
        yield list(rows)


def _leading(rows: Sequence[Match], unknown: float, scale: float) -> str:
    shares = shares_with(rows, unknown, scale)
    return max(zip(shares, (row.location_id for row in rows), strict=True))[1]
