"""Describe flight season and emergence by quantiles of days of the year."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from triage.estimates.held import labelled
from triage.estimates.interval import FEWEST_VISITS, Estimate, times_drawn, too_few

_ROUNDING = 1e-12  # of a share that is a half but for the last digit


@dataclass(frozen=True, slots=True, kw_only=True)
class Season:
    """Quantiles in days of the year; NaN where there are no records."""

    records: int
    first: float
    p10: float
    median: float
    p90: float
    last: float


def season_of(days: ArrayLike, counts: ArrayLike | None = None) -> Season:
    """Quantiles of a season from days of the year, weighted by counts.

    Parameters
    ----------
    days : sequence of float
        Days of the year; of a season over the turn of the year those after it plus 365
        (:func:`unwrapped`).
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
    when, weight = _checked(days, counts)
    if when.size == 0:
        nothing = math.nan
        return Season(
            records=0, first=nothing, p10=nothing, median=nothing, p90=nothing, last=nothing
        )
    order = np.argsort(when, kind="stable")
    when, weight = when[order], weight[order]
    shares = np.cumsum(weight) / weight.sum()

    def at(share: float) -> float:
        return float(when[np.searchsorted(shares, share - _ROUNDING)])

    return Season(
        records=int(when.size),
        first=float(when[0]),
        p10=at(0.1),
        median=at(0.5),
        p90=at(0.9),
        last=float(when[-1]),
    )


def unwrapped(days: Sequence[float], *, season: tuple[int, int] | None = None) -> list[float]:
    """Days of the year on a line: those of the next year plus 365 in a season over the new year.

    Parameters
    ----------
    days : sequence of float
        Days of the year, 1 to 366.
    season : (int, int), optional
        First and last day of the taxon's known season. One over the new year begins in the middle
        of the days outside it; any other leaves the days as they are.

    Returns
    -------
    list of float
        In the order given. Without a season the year is cut at the largest gap between the days,
        the latest of equal ones, so that a summer season stays as it is.

    Examples
    --------
    >>> unwrapped([350, 10, 20]), unwrapped([230, 270, 75], season=(213, 160))
    ([350.0, 375.0, 385.0], [230.0, 270.0, 440.0])
    """
    when = np.asarray(days, dtype=float)
    if season is not None:
        first, last = season
        cut = (last + first) / 2 if first > last else 0.0
    else:
        ordered = np.unique(when)
        if len(ordered) < 2:
            return [float(day) for day in when]
        gaps = np.diff(np.r_[ordered, ordered[0] + 365.0])
        largest = len(gaps) - 1 - int(np.argmax(gaps[::-1]))
        cut = 0.0 if largest == len(gaps) - 1 else float(ordered[largest + 1])
    return [float(day) for day in np.where(when < cut, when + 365.0, when)]


def em50(
    days: Sequence[float], counts: Sequence[float], *, seed: int, rounds: int = 499
) -> Estimate:
    """Days from the first exuviae until half of the season's total had emerged.

    Parameters
    ----------
    days, counts : sequences of float
        Collections of one season at one site: day of year and number of exuviae.
    seed : int
        For the interval: collections are resampled as wholes.

    Returns
    -------
    Estimate
        In days; NaN without exuviae and for a single day, which has no pace. The collection day
        is an upper bound of emergence, so this is the pace of collecting as much as of emerging.
        No interval for fewer than FEWEST_VISITS days of collection.

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
    found = _of_season("EM50", days, counts, from_first=True, seed=seed, rounds=rounds)
    single = len(set(_checked(days, counts)[0])) == 1
    return replace(found, value=math.nan) if single else found


def median_day(
    days: Sequence[float],
    counts: Sequence[float] | None = None,
    *,
    seed: int,
    rounds: int = 499,
) -> Estimate:
    """The day by which half of the season's records had been made, with an interval.

    Parameters and Raises as for :func:`season_of`.

    Returns
    -------
    Estimate
        A day of the year; NaN without records, no interval for fewer than FEWEST_VISITS days.

    Examples
    --------
    >>> median_day([150, 160, 170], seed=1).value
    160.0
    """
    return _of_season("median day", days, counts, from_first=False, seed=seed, rounds=rounds)


def _of_season(
    name: str,
    days: Sequence[float],
    counts: Sequence[float] | None,
    *,
    from_first: bool,
    seed: int,
    rounds: int,
) -> Estimate:
    """The median day, or days to it from the first, with the percentile interval of resampled days.

    Days are resampled as wholes, each with all that it gave: the individuals of one collection are
    not independent.

    References
    ----------
    Efron, B. & Tibshirani, R. (1993) An Introduction to the Bootstrap, chapter 13.
    """
    season = season_of(days, counts)
    value = season.median - season.first if from_first else season.median
    plain = Estimate(value=value, variant=f"{name}, resampled days")
    when, weight = _checked(days, counts)
    different, of_day = np.unique(when, return_inverse=True)
    if len(different) < FEWEST_VISITS:
        return too_few(plain) if len(different) else plain
    total = np.bincount(of_day, weights=weight)
    drawn = np.concatenate(
        [
            _medians(different, total * times, from_first=from_first)
            for times in times_drawn(len(different), seed=seed, rounds=rounds)
        ]
    )
    low, high = np.quantile(drawn, [0.025, 0.975])
    if low == high:
        return too_few(plain)
    found = replace(plain, low=float(low), high=float(high))
    return labelled(name, found, len(different))


def _medians(
    days: NDArray[np.float64], weights: NDArray[Any], *, from_first: bool
) -> NDArray[np.float64]:
    """For each row of weights the day, of these in order, by which half of it has been reached."""
    reached = np.cumsum(weights, axis=1)
    medians = days[np.argmax(reached / reached[:, -1:] >= 0.5 - _ROUNDING, axis=1)]
    first = days[np.argmax(weights > 0, axis=1)] if from_first else 0.0
    return np.asarray(medians - first)


def _checked(
    days: ArrayLike, counts: ArrayLike | None
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    when = np.asarray(days, dtype=float)
    weight = np.ones_like(when) if counts is None else np.asarray(counts, dtype=float)
    if when.shape != weight.shape or (weight < 0).any():
        raise ValueError("every day needs one count that is not negative")
    return when[weight > 0], weight[weight > 0]
