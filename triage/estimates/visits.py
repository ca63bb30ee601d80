"""Estimate richness, coverage and diversity, with intervals, from visits by taxa.

A visit is what may be resampled as a whole: the skins of one visit are no independent draws.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from triage.estimates import accumulation, hill_numbers, richness
from triage.estimates.held import labelled
from triage.estimates.interval import (
    FEWEST_VISITS,
    Estimate,
    error_of_draws,
    log_normal,
    normal,
    times_drawn,
    too_few,
)

Counts = NDArray[Any]  # shape (visits, taxa), individuals
VARIANTS: tuple[richness.ChaoVariant, ...] = ("small-sample", "classic", "bias-corrected")
ORDERS: tuple[hill_numbers.Order, ...] = (0, 1, 2)

DEPENDENT = "individuals of one visit go together"


@dataclass(frozen=True, slots=True, kw_only=True)
class Diversity:
    """Effective numbers of taxa of one order (Hill number): 0 all, 1 the common, 2 the dominant.

    ``observed`` in these visits; ``estimated`` of the community; ``alike`` of so many visits as
    reach ``coverage``, to be set beside others at the same coverage.
    """

    order: hill_numbers.Order
    observed: float
    estimated: Estimate
    alike: Estimate
    coverage: float
    visits: int


def richness_of(counts: Counts, *, seed: int, rounds: int) -> dict[str, Estimate]:
    """All estimators of the number of taxa, by name; none where nothing was found.

    Intervals are log-normal (Chao 1987). The variances of Chao2 and of the first jackknife are the
    published ones; the others are those of resampled visits, since the published ones of Chao1 and
    ACE take every individual as an independent draw. The order of visits changes nothing.
    """
    if not counts.any():
        return {}
    counts = counts[np.lexsort(counts.T)]  # draws go by place, which must not follow drawn codes
    found, visits = frequency(counts), len(counts)
    resampled = {
        **{f"Chao1, {v}": richness.chao1(counts.sum(0), variant=v) for v in VARIANTS},
        "ACE": richness.ace(counts.sum(0)),
        "ICE": richness.ice(found, visits, samples_with_rare=_with_rare(counts)),
        "jackknife 2": richness.jackknife(found, visits, order=2),
        "bootstrap": richness.bootstrap(found, visits),
    }
    drawn = [_values(counts, times) for times in times_drawn(visits, seed=seed, rounds=rounds)]
    errors = error_of_draws(np.concatenate([np.empty((0, len(resampled))), *drawn]))
    made = {
        name: _with_error(plain, counts, float(error))
        for (name, plain), error in zip(resampled.items(), errors, strict=True)
    }
    unique = (counts > 0)[:, found == 1].sum(1)
    made |= {f"Chao2, {v}": richness.chao2(found, visits, variant=v) for v in VARIANTS}
    first = richness.jackknife(found, visits, uniques_by_sample=unique.tolist())
    made["jackknife 1"] = _with_error(first, counts, first.standard_error)
    order = [*(f"Chao1, {v}" for v in VARIANTS), "ACE", *(f"Chao2, {v}" for v in VARIANTS), "ICE"]
    return {
        name: labelled(name.split(",")[0], _whole(made[name]), visits)
        for name in [*order, "jackknife 1", "jackknife 2", "bootstrap"]
    }


def coverage_of(counts: Counts) -> tuple[Estimate, Estimate]:
    """Share of the individuals, and of the incidences, out there that belong to found taxa.

    That of the incidences has an interval; that of the individuals has none that holds, since
    those of one visit go together.
    """
    found = accumulation.coverage_with_interval(frequency(counts), len(counts))
    return (
        Estimate(value=accumulation.coverage(counts.sum(0)), variant="coverage", note=DEPENDENT),
        labelled("coverage by visits", _few(found, counts), len(counts)),
    )


def diversity_of(counts: Counts, *, coverage: float, seed: int, rounds: int) -> list[Diversity]:
    """Hill numbers of the orders 0, 1 and 2 by visits; none where nothing was found.

    Errors are those of visits drawn from the estimated community (Chao et al. 2014).
    """
    found, visits = frequency(counts), len(counts)
    if not counts.any():
        return []
    size = accumulation.size_of_coverage(found, visits, target=coverage)

    def numbers(rows: NDArray[np.int64]) -> NDArray[np.float64]:
        estimated = hill_numbers.estimated_hill_numbers(rows, visits, visits)
        return np.hstack([estimated, hill_numbers.hill_numbers(rows, visits, size)])

    errors = np.full(6, np.nan)
    if visits >= FEWEST_VISITS:
        draws = accumulation.draws_of_community(found, visits, seed=seed, rounds=rounds)
        errors = error_of_draws(numbers(draws))
    made = [
        normal(value, float(error), variant="Hill number", least=1.0)
        for value, error in zip(numbers(found[None])[0].tolist(), errors, strict=True)
    ]
    # Order 0 is Chao2, with the interval that it has among the other estimators.
    made[0] = _whole(richness.chao2(found, visits))
    names = "Chao2", "Hill number 1", "Hill number 2"
    return [
        Diversity(
            order=order,
            observed=hill_numbers.hill_number(found, visits, order=order),
            estimated=labelled(names[order], _few(made[order], counts), visits),
            alike=_few(made[order + len(ORDERS)], counts),
            coverage=accumulation.coverage(found, visits, size=size),
            visits=size,
        )
        for order in ORDERS
    ]


def frequency(counts: Counts) -> NDArray[np.int64]:
    """The number of visits that found each taxon."""
    return np.asarray((counts > 0).sum(0), dtype=np.int64)


def _few(estimate: Estimate, counts: Counts) -> Estimate:
    return too_few(estimate) if len(counts) < FEWEST_VISITS else estimate


def _with_error(plain: Estimate, counts: Counts, error: float) -> Estimate:
    variant = f"{plain.variant}, error of visits"
    observed = int(counts.any(0).sum())
    if plain.value <= observed:
        found = replace(
            richness.nothing_missing(frequency(counts), variant=variant), value=plain.value
        )
    else:
        found = log_normal(observed, plain.value, error**2, variant=variant)
    return _few(found, counts)


def _whole(found: Estimate) -> Estimate:
    """A number of taxa is whole: bounds that leave out only a part of one are widened to it."""
    if found.low != found.low:
        return found
    return replace(found, low=float(math.floor(found.low)), high=float(math.ceil(found.high)))


def _values(counts: Counts, times: NDArray[np.int64]) -> NDArray[np.float64]:
    """Estimates of drawn visits, a row for each draw, in the order of `richness_of`."""
    # Sums of products in floats, which are exact so far and many times as fast as in whole numbers.
    drawn, held = times.astype(np.float64), (counts > 0).astype(np.float64)
    individuals = (drawn @ counts.astype(np.float64)).astype(np.int64)
    found = (drawn @ held).astype(np.int64)
    infrequent = (found > 0) & (found <= richness.RARE)
    with_rare = (times * (infrequent @ held.T > 0)).sum(1)
    return np.column_stack(
        [
            *(richness.chao_values(individuals, individuals.sum(1), variant=v) for v in VARIANTS),
            richness.ace_values(individuals),
            richness.ice_values(found, with_rare),
            richness.jackknife_2_values(found, len(counts)),
            richness.bootstrap_values(found, len(counts)),
        ]
    )


def _with_rare(counts: Counts) -> int:
    """The number of visits that found at least one infrequent taxon."""
    infrequent = frequency(counts) <= richness.RARE
    return int((counts > 0)[:, infrequent].any(1).sum())
