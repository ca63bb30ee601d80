"""Measure how often each 95 % interval holds a truth that is known.

Visits are clumped as searches for exuviae are: a taxon lives at some waters only, each visit goes
to one water, and where a taxon is met it comes by the dozen (negative binomial). Detection differs
between waters, determiners between sightings. Nothing here uses the estimates' own code.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from triage.bench.running import markdown
from triage.estimates.agreement import raw_agreement
from triage.estimates.biotic_index import rank_correlation
from triage.estimates.detection import estimate_detection
from triage.estimates.interval import Estimate
from triage.estimates.season import em50, median_day
from triage.estimates.visits import coverage_of, diversity_of, richness_of

VISITS = (3, 5, 10, 20, 40)
TAXA = (8, 20, 40)
Case = tuple[float, Estimate]
"""What is true, and what was estimated."""
ROUNDS = 99  # resamples inside each interval; the report takes 499


class Held(NamedTuple):
    """How often one interval held the truth at one size, and how often there was none."""

    held: float
    none: float


def bench(*, runs: int = 60) -> dict[str, dict[int, Held]]:
    """Every interval of the report; ``runs`` surveys of each number of visits and taxa."""
    random = np.random.default_rng(1)
    tallies: dict[str, dict[int, list[Case]]] = defaultdict(lambda: defaultdict(list))

    def note(size: int, cases: Iterable[tuple[str, float, Estimate]]) -> None:
        for name, truth, found in cases:
            tallies[name][size].append((truth, found))

    for visits in VISITS:
        for taxa in TAXA:
            for run in range(runs):
                note(visits, _of_survey(random, visits, taxa, run))
    for size in VISITS:
        for _ in range(runs * len(TAXA)):
            note(size, _of_dates(random, size))
    for size in (20, 60):
        for _ in range(runs):
            note(size, _of_detection(random, size))
            note(size, _of_answers(random, size))
    return {name: {n: _held(cases) for n, cases in by.items()} for name, by in tallies.items()}


def _held(cases: list[Case]) -> Held:
    bounded = [(t, e) for t, e in cases if e.low == e.low and e.high == e.high]
    held = [e.low - 1e-9 <= t <= e.high + 1e-9 for t, e in bounded]
    return Held(float(np.mean(held)) if held else float("nan"), 1 - len(bounded) / len(cases))


def community(
    random: np.random.Generator, visits: int, taxa: int
) -> tuple[NDArray[np.int64], NDArray[np.float64], NDArray[np.float64]]:
    """Counts of visits by taxa; each taxon's chance in a visit; its mean number in one.

    Taxa are those that live at the waters searched: nothing tells of other waters.
    """
    lives = np.clip(random.beta(0.8, 1.6, taxa), 0.03, 1.0)  # share of waters that have it
    finds = random.uniform(0.3, 0.9, taxa)  # chance that a visit there meets it
    plenty = np.exp(random.normal(1.0, 1.0, taxa))  # skins where met
    waters = max(3, visits // 3)
    at = random.random((waters, taxa)) < lives
    at[random.integers(0, waters, taxa), np.arange(taxa)] = True
    where = random.integers(0, waters, visits)
    met = at[where] & (random.random((visits, taxa)) < finds)
    skins = 1 + random.negative_binomial(0.5, 0.5 / (0.5 + plenty), (visits, taxa))
    chance = at.mean(axis=0) * finds
    return np.where(met, skins, 0), chance, chance * (1 + plenty)


def _of_survey(
    random: np.random.Generator, visits: int, taxa: int, seed: int
) -> Iterator[tuple[str, float, Estimate]]:
    counts, chance, mean = community(random, visits, taxa)
    if not counts.any():
        return
    for name, found in richness_of(counts, seed=seed, rounds=ROUNDS).items():
        yield name, float(taxa), found
    seen = counts.any(axis=0)
    by_individuals, by_visits = coverage_of(counts)
    yield "coverage", float(mean[seen].sum() / mean.sum()), by_individuals
    yield "coverage by visits", float(chance[seen].sum() / chance.sum()), by_visits
    share = chance / chance.sum()
    truths = (taxa, np.exp(-(share * np.log(share)).sum()), 1 / (share**2).sum())
    for one in diversity_of(counts, coverage=0.5, seed=seed, rounds=ROUNDS):
        yield f"Hill number {one.order}", float(truths[one.order]), one.estimated


def _of_dates(random: np.random.Generator, size: int) -> Iterator[tuple[str, float, Estimate]]:
    """Collections on days of an emergence that is normal in time; clumped counts on each."""
    middle, spread = random.uniform(150, 200), random.uniform(6, 20)
    days = np.sort(random.normal(middle, spread, size).round())
    counts = 1 + random.negative_binomial(0.7, 0.1, size)
    yield "median day", middle, median_day(days.tolist(), counts.tolist(), seed=1, rounds=ROUNDS)
    first = middle - float(np.mean(np.max(random.normal(0, spread, (400, size)), axis=1)))
    yield "EM50", middle - first, em50(days.tolist(), counts.tolist(), seed=1, rounds=ROUNDS)
    pairs = random.multivariate_normal([0, 0], [[1, 0.6], [0.6, 1]], size)
    found = rank_correlation(pairs[:, 0].tolist(), pairs[:, 1].tolist())
    estimate = Estimate(value=found.rho, low=found.rho_low, high=found.rho_high, variant="rho")
    yield "Spearman's rho", 6 / np.pi * np.arcsin(0.3), estimate


def _of_detection(random: np.random.Generator, size: int) -> Iterator[tuple[str, float, Estimate]]:
    """Cases with a find at waters whose detection is 0.5 in the mean, 0.15 either way."""
    cases: list[list[tuple[int, bool]]] = []
    while len(cases) < size:
        p = random.beta(5.05, 5.05)
        hits = random.random(4) < p
        if hits.any():
            cases.append([(1, bool(hit)) for hit in hits])
    yield "detection of a pass", 0.5, estimate_detection(cases)[0]


def _of_answers(random: np.random.Generator, size: int) -> Iterator[tuple[str, float, Estimate]]:
    """Five determiners; sightings are easy or hard, so that pairs of answers go together."""
    right = np.where(random.random(size) < 0.6, 0.98, 0.45)
    answers = random.random((size, 5)) < right[:, None]
    truth = 0.6 * (0.98**2 + 0.02**2) + 0.4 * (0.45**2 + 0.55**2)
    units = [["a" if one else "b" for one in row] for row in answers.tolist()]
    yield "raw agreement, five determiners", truth, raw_agreement(units)


def lines(found: dict[str, dict[int, Held]]) -> list[str]:
    """A table in Markdown: how often each interval held the truth (none: no interval), by size."""
    sizes = sorted({size for by_size in found.values() for size in by_size})
    rows = [(name, *(_cell(by_size.get(n)) for n in sizes)) for name, by_size in found.items()]
    return markdown(("interval of", *map(str, sizes)), rows)


def _cell(one: Held | None) -> str:
    if one is None:
        return ""
    if one.none == 1:
        return "none"
    return f"{one.held:.2f}" + (f" ({100 * one.none:.0f} % none)" if one.none >= 0.005 else "")
