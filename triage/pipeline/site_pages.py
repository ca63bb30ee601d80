"""Load sites for the pages of the desk: the map, one site, sites by taxa, where to look next."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from triage.determinations.blind import for_blind_eyes
from triage.errors import UnknownError
from triage.exuviae import taxa_found
from triage.matching import Match, strongest_evidence
from triage.pipeline import analysis, match, site_adults, standing, tables
from triage.report.site_pages import (
    MatchedSighting,
    Places,
    SitesByTaxa,
    WholeSite,
    places_of,
    sites_with,
)
from triage.store import evidence, ground, sightings
from triage.store.connection import Survey
from triage.workers.progress import Progress, silent

FEW = 300  # sightings; with more, where to look next takes longer than a page should
MATCHES_SHOWN = 30  # of one site, the likeliest


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


def sites_by_taxa(survey: Survey) -> SitesByTaxa:
    """The survey's own table, of all that is recorded, as it stands now."""
    strongest = strongest_evidence(site_adults.evidence_of_sites(survey))
    return sites_with(strongest, evidence.sites(survey))


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
    return places_of(released, stamp=stamp, at=now)
