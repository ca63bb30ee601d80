"""Sum up what the lots of a site say: which taxa, how many exuviae, in which years."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from triage.exuviae.records import ExuviaeLot


@dataclass(frozen=True, slots=True, kw_only=True)
class TaxonFound:
    """Exuviae of one taxon at a site: how many, in which years."""

    scientific_name: str
    count: int
    years: tuple[int, ...]


def taxa_found(lots: Iterable[ExuviaeLot]) -> tuple[TaxonFound, ...]:
    """Counts and years by taxon, the most numerous first; a lot of none found is passed over."""
    counts: Counter[str] = Counter()
    years: dict[str, set[int]] = defaultdict(set)
    for lot in lots:
        if lot.individual_count:
            counts[lot.scientific_name] += lot.individual_count
            if lot.first_day:
                years[lot.scientific_name].add(int(lot.first_day[:4]))
    return tuple(
        TaxonFound(scientific_name=name, count=count, years=tuple(sorted(years[name])))
        for name, count in sorted(counts.items(), key=lambda pair: (-pair[1], pair[0]))
    )
