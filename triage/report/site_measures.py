"""Compute biotic indices of sites, and rank correlations with what was measured there."""

from __future__ import annotations

import statistics
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from triage.estimates.biotic_index import (
    BioticIndex,
    RankCorrelation,
    biotic_index,
    rank_correlation,
)
from triage.matching import SiteEvidence
from triage.report.material import Material
from triage.report.samples import finest_names


@dataclass(frozen=True, slots=True, kw_only=True)
class SiteIndex:
    """One index of the user's at one site, from the taxa found there as exuviae in all years."""

    location_id: str
    index_name: str
    index: BioticIndex


@dataclass(frozen=True, slots=True, kw_only=True)
class SiteValue:
    """The median of one variable at one site over its days, in one unit."""

    location_id: str
    variable: str
    unit: str
    median: float
    values: int


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasureCorrelation:
    """One measured variable against one property of the sites, over the sites that have both."""

    variable: str
    unit: str
    against: str
    correlation: RankCorrelation


def exuviae_taxa(evidence: Iterable[SiteEvidence], material: Material) -> dict[str, set[str]]:
    """The taxa found as exuviae at each site, the finest names alone."""
    found: dict[str, set[str]] = defaultdict(set)
    for row in evidence:
        if row.evidence == "exuviae":
            found[row.location_id].add(row.scientific_name)
    return {site: finest_names(names, material.checklist) for site, names in found.items()}


def site_indices(evidence: Iterable[SiteEvidence], material: Material) -> list[SiteIndex]:
    """Every index at every site that gave exuviae."""
    taxa = exuviae_taxa(evidence, material)
    return [
        SiteIndex(location_id=site, index_name=name, index=biotic_index(taxa[site], scores))
        for name, scores in sorted(material.scores.items())
        for site in sorted(taxa)
    ]


def site_values(material: Material) -> list[SiteValue]:
    """Medians by site, variable and unit, at the sites that are shown."""
    known = {site.location_id for site in material.content.sites}
    grouped: dict[tuple[str, str, str], list[float]] = defaultdict(list)
    for one in material.measurements:
        if one.location_id in known:
            grouped[(one.location_id, one.variable, one.unit)].append(one.value)
    return [
        SiteValue(
            location_id=site,
            variable=variable,
            unit=unit,
            median=statistics.median(values),
            values=len(values),
        )
        for (site, variable, unit), values in sorted(grouped.items())
    ]


def correlations(
    evidence: tuple[SiteEvidence, ...], material: Material
) -> list[MeasureCorrelation]:
    """Each variable and unit against the number of exuviae taxa and against each index.

    Sites that were searched and gave nothing count with 0 taxa; an index needs taxa.
    """
    taxa = exuviae_taxa(evidence, material)
    searched = {visit.location_id for visit in material.content.visits} | taxa.keys()
    properties: dict[str, dict[str, float]] = {
        "taxa found as exuviae": {site: float(len(taxa.get(site, ()))) for site in searched}
    }
    for one in site_indices(evidence, material):
        sums = properties.setdefault(f"{one.index_name}, sum", {})
        means = properties.setdefault(f"{one.index_name}, per scored taxon", {})
        sums[one.location_id], means[one.location_id] = one.index.total, one.index.per_taxon
    grouped: dict[tuple[str, str], dict[str, float]] = defaultdict(dict)
    for value in site_values(material):
        grouped[(value.variable, value.unit)][value.location_id] = value.median
    rows = []
    for (variable, unit), medians in sorted(grouped.items()):
        for against, per_site in properties.items():
            both = sorted(medians.keys() & per_site.keys())
            found = rank_correlation([medians[s] for s in both], [per_site[s] for s in both])
            rows.append(
                MeasureCorrelation(variable=variable, unit=unit, against=against, correlation=found)
            )
    return rows
