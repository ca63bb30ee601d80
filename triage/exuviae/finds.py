"""Sum up what the lots of a site say: which taxa, how many exuviae, in which years."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from triage.exuviae.records import ExuviaeLot
from triage.standards.darwin_core import name_with_qualifier


@dataclass(frozen=True, slots=True, kw_only=True)
class TaxonFound:
    """Exuviae of one taxon at a site, sure or in one kind of doubt: how many, in which years."""

    scientific_name: str
    qualifier: str = ""
    count: int
    years: tuple[int, ...]

    @property
    def written(self) -> str:
        """The name with its doubt."""
        return name_with_qualifier(self.scientific_name, self.qualifier)


def taxa_found(lots: Iterable[ExuviaeLot]) -> tuple[TaxonFound, ...]:
    """Counts and years by taxon, the most numerous first; a lot of none found is passed over."""
    counts: Counter[tuple[str, str]] = Counter()
    years: dict[tuple[str, str], set[int]] = defaultdict(set)
    for lot in lots:
        if lot.individual_count:
            name = lot.scientific_name, lot.identification_qualifier
            counts[name] += lot.individual_count
            if lot.first_day:
                years[name].add(int(lot.first_day[:4]))
    return tuple(
        TaxonFound(
            scientific_name=name[0],
            qualifier=name[1],
            count=count,
            years=tuple(sorted(years[name])),
        )
        for name, count in sorted(counts.items(), key=lambda pair: (-pair[1], pair[0]))
    )
