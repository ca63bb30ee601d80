"""Load sites for the desk: the map, one site, sites by taxa kept up to date, where to look next."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from triage.determinations.blind import for_blind_eyes
from triage.errors import UnknownError
from triage.exuviae import taxa_found
from triage.matching import (
    WAITING,
    Match,
    SiteEvidence,
    adult_evidence,
    evidence_with_adults,
    strongest_evidence,
)
from triage.pipeline import analysis, match, standing, tables
from triage.report.site_pages import (
    MatchedSighting,
    Places,
    SitesByTaxa,
    WholeSite,
    places_of,
    sites_with,
)
from triage.standards.digests import short_digest_of
from triage.store import derived_rules, evidence, ground, matches, sightings
from triage.store.connection import Survey
from triage.workers.progress import Progress, silent

METHOD = "adults at sites 3"  # raised when what a sighting is evidence of changes with the program
FEW = 300  # sightings looked at while a page is waited for: some tenths of a second
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
    found, count = matches.at_site(survey, identifier, limit=MATCHES_SHOWN)
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


def sites_by_taxa(survey: Survey, *, blind: bool = False) -> SitesByTaxa:
    """The survey's own table, of all that is recorded, as it stands now.

    With ``blind`` names that wait for somebody else's look are left out.
    """
    found = evidence_of_sites(survey)
    strongest = strongest_evidence(one for one in found if not (blind and one.evidence == WAITING))
    return sites_with(strongest, evidence.sites(survey))


def places_are_long_work(survey: Survey) -> bool:
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


def table_is_long_work(survey: Survey) -> bool:
    """Whether bringing it up to date takes longer than somebody should wait for a page.

    Never in a survey that can only be read: what was made beside the page would not be kept.
    """
    if survey.read_only:
        return False
    if derived_rules.noted(survey, "site_adults") != _rules(survey):
        return sightings.count(survey) > FEW
    return derived_rules.count_due(survey, "site_adults") > FEW


def renew_table(survey: Survey, *, progress: Progress = silent) -> None:
    """Look anew at the sightings that changed since the last time; stopped anywhere, it resumes."""
    derived_rules.renew(
        survey,
        "site_adults",
        lambda due: _adults(survey, due),
        rules=_rules(survey),
        what="looking at which adult was at which water",
        progress=progress,
    )


def evidence_of_sites(survey: Survey) -> list[SiteEvidence]:
    """Sites by taxa with their evidence, as it stands now: of all that is recorded."""
    renew_table(survey)
    return evidence_with_adults(
        matches.adult_tallies(survey),
        evidence.sites(survey),
        evidence.visits(survey),
        tables.counted_lots(survey),
        evidence.checklist(survey),
    )


def _adults(survey: Survey, wanted: list[str]) -> Iterable[object]:
    adults = standing.in_use(survey, standing.standing(survey, wanted))
    return adult_evidence(adults, evidence.sites(survey), evidence.checklist(survey))


def _rules(survey: Survey) -> str:
    """Names all that what every sighting is evidence of depends on."""
    settings = survey.settings
    text = repr((METHOD, settings.determinations, settings.survey.area))
    return short_digest_of(text + repr(evidence.taxa(survey)) + repr(evidence.sites(survey)))
