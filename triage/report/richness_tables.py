"""Samples by taxa in, every estimate of how many taxa there are with its interval out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from triage.estimates import accumulation, richness
from triage.estimates.interval import Estimate, log_normal, resampled
from triage.report.material import ReportSettings
from triage.report.samples import Samples

VARIANTS: tuple[richness.ChaoVariant, ...] = ("small-sample", "classic", "bias-corrected")


MOST_POINTS = 60  # of an accumulation curve: more cannot be seen
CURVE_STEPS = 20  # sizes up to the sample, and as many beyond it to twice the sample


@dataclass(frozen=True, slots=True, kw_only=True)
class RichnessRow:
    """One estimate for one list (exuviae or adults) of one scope (all, a site, a year)."""

    record: str
    scope: str
    samples: int
    individuals: int
    observed: int
    estimator: str
    estimate: Estimate


def richness_rows(
    record: str, scope: str, samples: Samples, settings: ReportSettings
) -> list[RichnessRow]:
    """All estimators on one set of samples; none where nothing was found.

    Chao1, Chao2 and the first jackknife carry their published intervals; the others a log-normal
    interval (Chao 1987) whose error is that of resampled visits.
    """
    if not samples.taxa:
        return []
    counts = samples.counts
    estimates = [
        *((f"Chao1, {v}", richness.chao1(_abundance(counts), variant=v)) for v in VARIANTS),
        ("ACE", _with_error(lambda c: richness.ace(_abundance(c)), counts, settings)),
        *(
            (f"Chao2, {v}", richness.chao2(_frequency(counts), len(counts), variant=v))
            for v in VARIANTS
        ),
        ("ICE", _with_error(ice_of, counts, settings)),
        ("jackknife 1", jackknife_1_of(counts)),
        ("jackknife 2", _with_error(jackknife_2_of, counts, settings)),
        ("bootstrap", _with_error(bootstrap_of, counts, settings)),
    ]
    return [
        RichnessRow(
            record=record,
            scope=scope,
            samples=len(samples.units),
            individuals=int(counts.sum()),
            observed=len(samples.taxa),
            estimator=name,
            estimate=estimate,
        )
        for name, estimate in estimates
    ]


def coverage_of(samples: Samples, settings: ReportSettings) -> Estimate:
    """Sample coverage with a percentile interval from resampled visits, within 0 to 1."""
    return resampled(
        lambda c: accumulation.coverage(_abundance(c)),
        samples.counts,
        seed=settings.seed,
        rounds=settings.rounds,
        variant="coverage, resampled visits",
    )


def coverage_by_visits(samples: Samples, settings: ReportSettings) -> Estimate:
    """The same from visits in place of individuals."""
    return resampled(
        lambda c: accumulation.coverage_of_samples(_frequency(c), len(c)),
        samples.counts,
        seed=settings.seed,
        rounds=settings.rounds,
        variant="coverage of samples, resampled visits",
    )


def ice_of(counts: NDArray[Any]) -> Estimate:
    """ICE of a matrix of samples by taxa."""
    frequency = (counts > 0).sum(0)
    infrequent = (frequency > 0) & (frequency <= richness.RARE)
    with_rare = int((counts[:, infrequent] > 0).any(1).sum())
    return richness.ice(_frequency(counts), len(counts), samples_with_rare=with_rare)


def jackknife_1_of(counts: NDArray[Any]) -> Estimate:
    """First-order jackknife with its own standard error."""
    unique = (counts > 0)[:, (counts > 0).sum(0) == 1]
    return richness.jackknife(
        _frequency(counts), len(counts), uniques_by_sample=[int(n) for n in unique.sum(1)]
    )


def jackknife_2_of(counts: NDArray[Any]) -> Estimate:
    """Second-order jackknife."""
    return richness.jackknife(_frequency(counts), len(counts), order=2)


def bootstrap_of(counts: NDArray[Any]) -> Estimate:
    """Bootstrap estimator of richness."""
    return richness.bootstrap(_frequency(counts), len(counts))


def _with_error(
    estimator: Callable[[NDArray[Any]], Estimate], counts: NDArray[Any], settings: ReportSettings
) -> Estimate:
    plain = estimator(counts)
    spread = resampled(
        lambda c: estimator(c).value,
        counts,
        seed=settings.seed,
        rounds=settings.rounds,
        variant=plain.variant,
    )
    observed = int((counts.sum(0) > 0).sum())
    variance = spread.standard_error**2
    if not variance > 0:
        return plain
    return log_normal(
        observed, plain.value, variance, variant=f"{plain.variant}, error of resampled visits"
    )


def _abundance(counts: NDArray[Any]) -> list[int]:
    return [int(n) for n in counts.sum(0)]


def _frequency(counts: NDArray[Any]) -> list[int]:
    return [int(n) for n in (counts > 0).sum(0)]


@dataclass(frozen=True, slots=True, kw_only=True)
class CurvePoint:
    """Expected taxa at one size of the sample; ``kind`` says how it was reached."""

    record: str
    kind: str
    size: int
    estimate: Estimate


def accumulation_curve(record: str, samples: Samples, settings: ReportSettings) -> list[CurvePoint]:
    """Exact mean accumulation over samples, with the error of resampled samples at each size."""
    total = len(samples.units)
    if total == 0:
        return []
    steps = min(total, MOST_POINTS)
    sizes = sorted({max(1, round(total * step / steps)) for step in range(1, steps + 1)} | {1})
    mean = accumulation.accumulation(_frequency(samples.counts), total, sizes=sizes)
    random = np.random.default_rng(settings.seed)
    drawn = np.array(
        [
            accumulation.accumulation(
                _frequency(samples.counts[random.integers(0, total, total)]), total, sizes=sizes
            )
            for _ in range(settings.rounds if total > 1 else 0)
        ]
    )
    errors = drawn.std(axis=0, ddof=1) if len(drawn) else np.full(len(sizes), np.nan)
    return [
        CurvePoint(
            record=record,
            kind="accumulation",
            size=size,
            estimate=Estimate(
                value=float(value),
                low=float(max(value - 1.959963984540054 * error, 0.0)),
                high=float(value + 1.959963984540054 * error),
                standard_error=float(error),
                variant="exact mean, error of resampled samples",
            ),
        )
        for size, value, error in zip(sizes, mean, errors, strict=True)
    ]


def curves(record: str, samples: Samples, settings: ReportSettings) -> list[CurvePoint]:
    """Accumulation over samples, then rarefaction and extrapolation over individuals."""
    found = accumulation_curve(record, samples, settings)
    total = int(samples.counts.sum())
    if not total:
        return found
    sizes = sorted(
        {max(1, round(total * step / CURVE_STEPS)) for step in range(1, 2 * CURVE_STEPS + 1)}
    )
    estimates = accumulation.sized(
        _abundance(samples.counts), sizes, seed=settings.seed, rounds=min(settings.rounds, 199)
    )
    found += [
        CurvePoint(record=record, kind=one.variant, size=size, estimate=one)
        for size, one in zip(sizes, estimates, strict=True)
    ]
    return found
