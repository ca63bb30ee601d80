"""Tabulate how many taxa there are, how even they are, and their curves."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from triage.estimates import accumulation, visits
from triage.estimates.interval import FEWEST_VISITS, Estimate
from triage.estimates.visits import Diversity
from triage.report.material import ReportSettings
from triage.report.samples import Samples

CURVE_STEPS = 20  # sizes up to the sample, and as many beyond it to twice the sample
LEAST_COMPARED = 0.5  # coverage; below it most of what is there is unseen, and nothing compares
CURVE_ROUNDS = 199  # draws for the band of a curve: its edge moves by less than the line is thick

Scope = tuple[str, str, Samples]
"""Which record (exuviae or adults), where or when, and the samples of it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Counted:
    """What one list (exuviae or adults) has in one scope (all, a site, a year)."""

    record: str
    scope: str
    samples: int
    individuals: int
    observed: int
    left_out: int


@dataclass(frozen=True, slots=True, kw_only=True)
class RichnessRow(Counted):
    """One estimate for one list of one scope."""

    estimator: str
    estimate: Estimate


@dataclass(frozen=True, slots=True, kw_only=True)
class CoverageRow(Counted):
    """Sample coverage of one list of one scope, by individuals and by samples."""

    coverage: Estimate
    by_samples: Estimate


@dataclass(frozen=True, slots=True, kw_only=True)
class DiversityRow(Counted):
    """Effective numbers of taxa of one order for one scope."""

    diversity: Diversity


@dataclass(frozen=True, slots=True, kw_only=True)
class CurvePoint:
    """Expected taxa at one size: in samples (accumulation), or in individuals.

    ``kind`` says how it was reached: rarefaction or extrapolation.
    """

    record: str
    by: str
    kind: str
    size: int
    estimate: Estimate


def richness_rows(scope: Scope, settings: ReportSettings) -> list[RichnessRow]:
    """All estimators on one set of samples; none where nothing was found."""
    found = visits.richness_of(scope[2].counts, seed=settings.seed, rounds=settings.rounds)
    return [
        RichnessRow(**_counted(*scope), estimator=name, estimate=estimate)
        for name, estimate in found.items()
    ]


def _counted(record: str, where: str, samples: Samples) -> dict[str, Any]:
    return {
        "record": record,
        "scope": where,
        "samples": len(samples.units),
        "individuals": int(samples.counts.sum()),
        "observed": len(samples.taxa),
        "left_out": samples.left_out,
    }


def coverage_rows(scopes: Iterable[Scope]) -> list[CoverageRow]:
    """How much of what is there was found, in every scope with finds."""
    return [
        CoverageRow(**_counted(*scope), coverage=by_individuals, by_samples=by_samples)
        for scope in scopes
        if scope[2].taxa
        for by_individuals, by_samples in [visits.coverage_of(scope[2].counts)]
    ]


def diversity_rows(scopes: Sequence[Scope], settings: ReportSettings) -> list[DiversityRow]:
    """Hill numbers of every scope, also at the least coverage of those with enough samples."""
    rows = []
    for record in dict.fromkeys(record for record, _, _ in scopes):
        own = [(where, part) for kind, where, part in scopes if kind == record and part.taxa]
        reached = [
            value
            for _, part in own
            if len(part.units) >= FEWEST_VISITS
            for value in [accumulation.coverage(visits.frequency(part.counts), len(part.units))]
            if value >= LEAST_COMPARED
        ]
        for where, part in own:
            numbers = visits.diversity_of(
                part.counts,
                coverage=min(reached, default=LEAST_COMPARED),
                seed=settings.seed,
                rounds=min(settings.rounds, CURVE_ROUNDS),
            )
            own_counts = _counted(record, where, part)
            rows += [DiversityRow(**own_counts, diversity=one) for one in numbers]
    return rows


def curves(record: str, samples: Samples, settings: ReportSettings) -> list[CurvePoint]:
    """Taxa by samples and by individuals, each to twice of what there is."""
    counts, count = samples.counts, len(samples.units)
    if not counts.any():
        return []
    rounds = min(settings.rounds, CURVE_ROUNDS)
    seed = settings.seed
    by_samples, by_individuals = _sizes(count), _sizes(int(counts.sum()))
    points = [
        ("samples", by_samples, accumulation.sized(
            visits.frequency(counts), by_samples, samples=count, seed=seed, rounds=rounds
        )),
        ("individuals", by_individuals, accumulation.sized(
            counts.sum(0), by_individuals, seed=seed, rounds=rounds
        )),
    ]  # fmt: skip
    return [
        CurvePoint(record=record, by=by, kind=one.variant, size=size, estimate=one)
        for by, sizes, estimates in points
        for size, one in zip(sizes, estimates, strict=True)
    ]


def _sizes(total: int) -> list[int]:
    steps = range(1, 2 * CURVE_STEPS + 1)
    return sorted({max(1, round(total * step / CURVE_STEPS)) for step in steps})
