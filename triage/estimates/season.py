"""Days of the year with counts in, flight season and emergence as quantiles out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from triage.estimates.interval import Estimate


@dataclass(frozen=True, slots=True, kw_only=True)
class Season:
    """Quantiles in days of the year; NaN where there are no records."""

    records: int
    first: float
    p10: float
    median: float
    p90: float
    last: float


def season_of(days: Sequence[float], counts: Sequence[float] | None = None) -> Season:
    """Quantiles of a season from days of the year, weighted by counts.

    Parameters
    ----------
    days : sequence of float
        Days of the year, 1 to 366. A season over the turn of the year (overwintering adults)
        must be shifted by the caller.
    counts : sequence of float, optional
        Individuals on each day; 1 each when left out.

    Returns
    -------
    Season
        The weighted quantile is the first day by which the share has been reached.

    Raises
    ------
    ValueError
        If a count is negative or the lengths differ.
    """
    when = np.asarray(days, dtype=float)
    weight = np.ones_like(when) if counts is None else np.asarray(counts, dtype=float)
    if when.shape != weight.shape or (weight < 0).any():
        raise ValueError("every day needs one count that is not negative")
    when, weight = when[weight > 0], weight[weight > 0]
    if when.size == 0:
        nothing = math.nan
        return Season(
            records=0, first=nothing, p10=nothing, median=nothing, p90=nothing, last=nothing
        )
    order = np.argsort(when, kind="stable")
    when, weight = when[order], weight[order]
    shares = np.cumsum(weight) / weight.sum()

    def at(share: float) -> float:
        return float(when[np.searchsorted(shares, share - 1e-12)])

    return Season(
        records=int(when.size),
        first=float(when[0]),
        p10=at(0.1),
        median=at(0.5),
        p90=at(0.9),
        last=float(when[-1]),
    )


def em50(
    days: Sequence[float], counts: Sequence[float], *, seed: int, rounds: int = 499
) -> Estimate:
    """Days from the first exuviae until half of the season's total had emerged.

    Parameters
    ----------
    days, counts : sequences of float
        Collections of one season at one site: day of year and number of exuviae.
    seed : int
        For the interval: individuals are resampled.

    Returns
    -------
    Estimate
        In days; NaN without exuviae. The collection day is an upper bound of emergence, so this
        is the pace of collecting as much as of emerging.

    Raises
    ------
    ValueError
        If a count is negative or the lengths differ.

    References
    ----------
    Corbet, P. S. (1999) Dragonflies: behavior and ecology of Odonata, chapter 7 (from memory).

    Examples
    --------
    >>> em50([150, 153, 160], [40, 50, 10], seed=1).value
    3.0
    """
    found = season_of(days, counts)
    if not found.records:
        return Estimate(value=math.nan, variant="EM50")
    value = found.median - found.first
    weight = np.asarray(counts, dtype=float)
    when = np.asarray(days, dtype=float)
    total = round(weight.sum())
    random = np.random.default_rng(seed)
    drawn = []
    for _ in range(rounds):
        again = season_of(list(when), list(random.multinomial(total, weight / weight.sum())))
        drawn.append(again.median - again.first)
    low, high = np.quantile(drawn, [0.025, 0.975])
    return Estimate(value=value, low=float(low), high=float(high), variant="EM50, bootstrap")


def median_day(
    days: Sequence[float],
    counts: Sequence[float] | None = None,
    *,
    seed: int,
    rounds: int = 499,
) -> Estimate:
    """The day by which half of the season's records had been made, with an interval.

    Parameters
    ----------
    days, counts : sequences of float
        As for :func:`season_of`.
    seed : int
        For the interval: records (a day with its count) are resampled as wholes, since the
        individuals of one collection are not independent.

    Returns
    -------
    Estimate
        A day of the year; NaN without records, no interval with a single one.

    Raises
    ------
    ValueError
        If a count is negative or the lengths differ.

    References
    ----------
    Efron, B. & Tibshirani, R. (1993) An Introduction to the Bootstrap, chapter 13.

    Examples
    --------
    >>> median_day([150, 160, 170], seed=1).value
    160.0
    """
    found = season_of(days, counts)
    if found.records < 2:
        return Estimate(value=found.median, variant="median day")
    when = np.asarray(days, dtype=float)
    weight = np.ones_like(when) if counts is None else np.asarray(counts, dtype=float)
    when, weight = when[weight > 0], weight[weight > 0]
    random = np.random.default_rng(seed)
    drawn = []
    for _ in range(rounds):
        again = random.integers(0, len(when), len(when))
        drawn.append(season_of(list(when[again]), list(weight[again])).median)
    low, high = np.quantile(drawn, [0.025, 0.975])
    return Estimate(
        value=found.median, low=float(low), high=float(high), variant="median day, bootstrap"
    )
