"""What the pages of sites show: one site, sites by taxa, where to look next and its sheets."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from triage.errors import UnknownError
from triage.exuviae import Site, TaxonFound
from triage.matching import Match, SearchPriority, SiteEvidence
from triage.report import findings as finding
from triage.report.absences import effort_of
from triage.report.material import Material
from triage.report.search_sheets import search_sheet
from triage.report.tables_of_sites import passes_text, place_text
from triage.report.wording import days
from triage.sightings import Sighting
from triage.standards.letters import alphabetical


@dataclass(frozen=True, slots=True, kw_only=True)
class MatchedSighting:
    """One sighting that speaks of a site, with what it is called and its best photo."""

    match: Match
    sighting: Sighting
    photo: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WholeSite:
    """One site with its searches, what they found by taxon and year, and its matches."""

    site: Site
    visits: int
    passes: int
    found: tuple[TaxonFound, ...]
    matches: tuple[MatchedSighting, ...]
    matches_in_all: int
    not_matched: int


@dataclass(frozen=True, slots=True, kw_only=True)
class SitesByTaxa:
    """The strongest evidence of each taxon at each site; sites as identifier and name."""

    taxa: tuple[str, ...]
    sites: tuple[tuple[str, str], ...]
    strongest: dict[tuple[str, str], SiteEvidence]


def sites_with(
    strongest: Mapping[tuple[str, str], SiteEvidence], sites: Iterable[Site]
) -> SitesByTaxa:
    """The table of the strongest evidence, sites by their names."""
    names = {site.location_id: site.locality for site in sites}
    called = {(one, names.get(one, one)) for one, _ in strongest}
    return SitesByTaxa(
        taxa=tuple(sorted({taxon for _, taxon in strongest})),
        sites=tuple(sorted(called, key=lambda one: (alphabetical(one[1]), one[0]))),
        strongest=dict(strongest),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """One place worth a search, in the words for people: where, and on which days."""

    priority: SearchPriority
    words: str
    days: str
    passes: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Places:
    """Places worth a search as coarse as what is released, and when they were computed."""

    stamp: tuple[object, ...]
    at: datetime
    places: tuple[Place, ...]
    released: Material


def places_of(released: Material, *, stamp: tuple[object, ...], at: datetime) -> Places:
    """Where to look next as it may be told, with what the search sheets are printed from."""
    return Places(
        stamp=stamp,
        at=at,
        places=tuple(
            Place(
                priority=one,
                words=place_text(released, one),
                days=days(one.first_day, one.last_day),
                passes=passes_text(one),
            )
            for one in finding.priorities_of(released, effort_of(released))
        ),
        released=_for_sheets(released),
    )


def _for_sheets(released: Material) -> Material:
    """What a search sheet is printed from, which stays in memory: no sightings."""
    return replace(
        released,
        content=replace(released.content, sightings=(), determinations=(), accepted={}, matches=()),
        release=replace(released.release, sighting_points={}, sighting_sensitivity={}),
    )


def sheet(found: Places, rank: int, *, now: datetime) -> bytes:
    """The search sheet of a place, to print.

    Raises
    ------
    UnknownError
        If no place has this rank.
    """
    for one in found.places:
        if one.priority.rank == rank:
            return search_sheet(found.released, one.priority, now=now)
    raise UnknownError(
        "no place worth a search has this number", failing=str(rank), next_step="See the list."
    )
