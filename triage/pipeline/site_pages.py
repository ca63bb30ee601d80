"""Load sites for the pages of the desk: the map, one site, sites by taxa, where to look next."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime

from triage.errors import UnknownError
from triage.exuviae import Site, TaxonFound, taxa_found
from triage.matching import Match, SearchPriority, SiteEvidence, strongest_evidence
from triage.pipeline import analysis, match, site_adults, standing, tables
from triage.pipeline.sitting import for_blind_eyes
from triage.report import findings as finding
from triage.report.absences import effort_of
from triage.report.material import Material
from triage.report.search_sheets import search_sheet
from triage.report.tables_of_sites import place_text
from triage.report.wording import days
from triage.sightings import Sighting
from triage.store import evidence, ground, sightings
from triage.store.connection import Survey
from triage.workers.progress import Progress, silent

FEW = 300  # sightings; with more, where to look next takes longer than a page should
MATCHES_SHOWN = 30  # of one site, the likeliest


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


def whole_site(survey: Survey, identifier: str, *, blind: bool = False) -> WholeSite:
    """One site with everything that speaks of it, as it stands now.

    Where too many sightings changed to match them anew while somebody waits for a page, it is as
    it was, and ``not_matched`` says how many they are. With ``blind`` sightings that wait for
    somebody else's look have no name.

    Raises
    ------
    UnknownError
        If there is no such site.
    """
    site = evidence.site(survey, identifier)
    if site is None:
        raise UnknownError(
            "there is no such site", failing=identifier, next_step="Choose one on the map."
        )
    not_matched = match.count_due(survey)
    if not_matched <= match.FEW or survey.read_only:
        match.bring_up_to_date(survey)
        not_matched = 0
    visits = [v for v in evidence.lots_at(survey, [identifier])[1] if v.location_id == identifier]
    found, count = ground.matches_at(survey, identifier, limit=MATCHES_SHOWN)
    return WholeSite(
        site=site,
        visits=len(visits),
        passes=sum(one.passes for one in visits),
        found=taxa_found(tables.counted_lots(survey, at=[identifier])),
        matches=tuple(_matched(survey, found, blind=blind)),
        matches_in_all=count,
        not_matched=not_matched,
    )


def _matched(survey: Survey, found: Iterable[Match], *, blind: bool) -> Iterable[MatchedSighting]:
    ones = list(found)
    stands = standing.standing(survey, {one.sighting for one in ones})
    by_identifier = {one.identifier: one for one in standing.sightings(survey, stands)}
    for one in ones:
        sighting = by_identifier.get(one.sighting)
        if sighting is not None:
            best = sighting.best_dorsal or sighting.best_lateral or next(iter(sighting.photos), "")
            shown = for_blind_eyes(sighting) if blind else sighting
            yield MatchedSighting(match=one, sighting=shown, photo=best)


@dataclass(frozen=True, slots=True, kw_only=True)
class SitesByTaxa:
    """The strongest evidence of each taxon at each site; sites as identifier and name."""

    taxa: tuple[str, ...]
    sites: tuple[tuple[str, str], ...]
    strongest: dict[tuple[str, str], SiteEvidence]


def sites_by_taxa(survey: Survey) -> SitesByTaxa:
    """The survey's own table, of all that is recorded, as it stands now."""
    strongest = strongest_evidence(site_adults.evidence_of_sites(survey))
    names = {site.location_id: site.locality for site in evidence.sites(survey)}
    return SitesByTaxa(
        taxa=tuple(sorted({taxon for _, taxon in strongest})),
        sites=tuple(sorted({(s, names.get(s, s)) for s, _ in strongest}, key=lambda s: s[1])),
        strongest=strongest,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """One place worth a search, in the words for people: where, and on which days."""

    priority: SearchPriority
    words: str
    days: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Places:
    """Places worth a search as coarse as what is released, and when they were computed."""

    stamp: tuple[object, ...]
    at: datetime
    places: tuple[Place, ...]
    released: Material


def is_long_work(survey: Survey) -> bool:
    """Whether places worth a search take longer than somebody should wait for a page."""
    return sightings.count(survey) > FEW


def places_to_search(survey: Survey, *, now: datetime, progress: Progress = silent) -> Places:
    """Where to look next as it may be told; every sighting speaks of it, so it takes long."""
    match.bring_up_to_date(survey, progress=progress)
    stamp = ground.stamp(survey)
    progress("loading what may be told", 1, 3)
    released = analysis.released_records(survey)
    progress("weighing places worth a search", 2, 3)
    found = finding.priorities_of(released, effort_of(released))
    return Places(
        stamp=stamp,
        at=now,
        places=tuple(
            Place(
                priority=one,
                words=place_text(released, one),
                days=days(one.first_day, one.last_day),
            )
            for one in found
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
