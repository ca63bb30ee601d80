"""Load sites for the pages of the desk: the map, one site, sites by taxa, where to look next."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from triage.errors import UnknownError
from triage.exuviae import Site
from triage.matching import Match, SearchPriority, SiteEvidence, strongest_evidence
from triage.pipeline import analysis, match, standing, tables
from triage.report import findings as finding
from triage.report.absences import effort_of
from triage.report.material import Material
from triage.report.search_sheets import search_sheet
from triage.report.tables_of_sites import place_text
from triage.report.wording import days
from triage.sightings import Sighting
from triage.store import evidence, ground
from triage.store.connection import Survey
from triage.store.ground import Spot

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
    found: tuple[tuple[str, int, str], ...]
    matches: tuple[MatchedSighting, ...]
    matches_in_all: int


def sites_and_spots(survey: Survey) -> tuple[list[Site], list[Spot]]:
    """What the map shows."""
    return evidence.sites(survey), ground.spots(survey)


def stamp_of(survey: Survey) -> tuple[int, ...]:
    """Numbers that differ when anything differs that the map is drawn from."""
    return ground.stamp(survey)


def whole_site(survey: Survey, identifier: str) -> WholeSite:
    """One site with everything that speaks of it, as it stands now.

    Raises
    ------
    UnknownError
        If there is no such site.
    """
    site = next((s for s in evidence.sites(survey) if s.location_id == identifier), None)
    if site is None:
        raise UnknownError(
            "there is no such site", failing=identifier, next_step="Choose one on the map."
        )
    match.current(survey)
    visits = [one for one in evidence.visits(survey) if one.location_id == identifier]
    found, count = ground.matches_at(survey, identifier, limit=MATCHES_SHOWN)
    return WholeSite(
        site=site,
        visits=len(visits),
        passes=sum(one.passes for one in visits),
        found=tuple(_found_at(survey, identifier)),
        matches=tuple(_matched(survey, found)),
        matches_in_all=count,
    )


def _found_at(survey: Survey, site: str) -> Iterable[tuple[str, int, str]]:
    """Taxa with the number of their exuviae and the years, the most numerous first."""
    counts: Counter[str] = Counter()
    years: dict[str, set[str]] = {}
    for lot in tables.counted_lots(survey):
        if lot.location_id == site and lot.individual_count:
            counts[lot.scientific_name] += lot.individual_count
            years.setdefault(lot.scientific_name, set()).add(lot.first_day[:4])
    for name, count in counts.most_common():
        yield name, count, ", ".join(sorted(filter(None, years[name])))


def _matched(survey: Survey, found: Iterable[Match]) -> Iterable[MatchedSighting]:
    ones = list(found)
    stands = standing.standing(survey, {one.sighting for one in ones})
    by_identifier = {one.identifier: one for one in standing.sightings(survey, stands)}
    for one in ones:
        sighting = by_identifier.get(one.sighting)
        if sighting is not None:
            best = sighting.best_dorsal or sighting.best_lateral or next(iter(sighting.photos), "")
            yield MatchedSighting(match=one, sighting=sighting, photo=best)


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """One place worth a search, in the words for people: where, and on which days."""

    priority: SearchPriority
    words: str
    days: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Analysed:
    """What is computed from the whole survey: made once and kept until something changes."""

    stamp: tuple[int, ...]
    taxa: tuple[str, ...]
    sites: tuple[tuple[str, str], ...]
    strongest: dict[tuple[str, str], SiteEvidence]
    places: tuple[Place, ...]
    released: Material


def analysed(survey: Survey, before: Analysed | None = None) -> Analysed:
    """Sites by taxa with their strongest evidence, and where to look next as it may be told.

    The table is the survey's own, of all that is recorded; the places and their sheets are as
    coarse as what is released. ``before`` is given back if nothing changed since.
    """
    stamp = ground.stamp(survey)
    if before is not None and before.stamp == stamp:
        return before
    match.current(survey)
    loaded = analysis.load_whole(survey)
    whole = analysis.material(survey, internal=True, whole=loaded)
    strongest = strongest_evidence(finding.evidence_of(whole))
    released = analysis.material(survey, whole=loaded)
    names = {site.location_id: site.locality for site in whole.content.sites}
    return Analysed(
        stamp=ground.stamp(survey),
        taxa=tuple(sorted({taxon for _, taxon in strongest})),
        sites=tuple(sorted({(s, names.get(s, s)) for s, _ in strongest}, key=lambda s: s[1])),
        strongest=strongest,
        places=tuple(
            Place(
                priority=one,
                words=place_text(released, one),
                days=days(one.first_day, one.last_day),
            )
            for one in finding.priorities_of(released, effort_of(released))
        ),
        released=released,
    )


def sheet(found: Analysed, rank: int, *, now: datetime) -> bytes:
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
