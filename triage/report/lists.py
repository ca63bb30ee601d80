"""Set the adults and the exuviae of each site side by side, with their likeness."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal, get_args

from triage.checklist import BELOW_GENUS, Checklist
from triage.estimates.similarity import ListComparison, compare_lists
from triage.matching import SiteEvidence

ListRank = Literal["species", "genus"]
RANKS: tuple[ListRank, ...] = get_args(ListRank)
ADULTS = ("teneral", "oviposition", "pair", "adults", "adults out of season")


@dataclass(frozen=True, slots=True, kw_only=True)
class SiteLists:
    """Adults (first) against exuviae (second) at one site, or at all of them (no location_id).

    At the rank of species only names to species count; at the rank of genus every name that has
    a genus. ``coarser`` names of either list are left out.
    """

    location_id: str
    year: int | None
    rank: ListRank
    comparison: ListComparison
    coarser: int


def site_lists(evidence: Iterable[SiteEvidence], checklist: Checklist) -> list[SiteLists]:
    """Compare the lists of every site with evidence, and of the survey, over all years and by year.

    Per year only where the survey has more than one.
    """
    rows = list(evidence)
    years = sorted({row.year for row in rows})
    found: list[SiteLists] = []
    for year in [None, *(years if len(years) > 1 else [])]:
        chosen = [row for row in rows if year is None or row.year == year]
        groups: dict[str, list[SiteEvidence]] = defaultdict(list)
        for row in chosen:
            groups[row.location_id].append(row)
        for location_id in ["", *sorted(groups)]:
            members = groups[location_id] if location_id else chosen
            found += [_compare(location_id, year, rank, members, checklist) for rank in RANKS]
    return found


def _compare(
    location_id: str,
    year: int | None,
    rank: ListRank,
    rows: Iterable[SiteEvidence],
    checklist: Checklist,
) -> SiteLists:
    adults: set[str] = set()
    exuviae: set[str] = set()
    coarser: set[tuple[str, str]] = set()
    for row in rows:
        kind = "adult" if row.evidence in ADULTS else row.evidence
        if kind not in ("adult", "exuviae"):
            continue
        name = name_at(rank, row.scientific_name, row.taxon_rank, checklist)
        if not name:
            coarser.add((kind, row.scientific_name))
        else:
            (adults if kind == "adult" else exuviae).add(name)
    return SiteLists(
        location_id=location_id,
        year=year,
        rank=rank,
        comparison=compare_lists(adults, exuviae),
        coarser=len(coarser),
    )


def name_at(rank: str, name: str, own_rank: str, checklist: Checklist) -> str:
    """The name at a rank: its own, or the taxon above it; empty if the name is coarser."""
    if own_rank == rank:
        return name
    found = checklist.lineage(name).get(rank, "")
    if not found and rank == "genus" and own_rank in BELOW_GENUS:
        return name.split()[0]
    return found
