"""Compute every number that a report shows."""

from __future__ import annotations

from dataclasses import dataclass, replace

from triage.analysis import geodesy
from triage.estimates.agreement import Agreement
from triage.estimates.detection import Detection
from triage.matching import (
    Effect,
    Effort,
    EvidenceSettings,
    PrioritySettings,
    SearchPriority,
    SiteEvidence,
    search_priorities,
    sensitivity,
    site_evidence,
)
from triage.report import absences as absence_rows
from triage.report import richness_tables, seasons, site_measures
from triage.report.absences import Absence
from triage.report.determiners import agreement_rows
from triage.report.lists import SiteLists, site_lists
from triage.report.material import Material, ReportSettings
from triage.report.nearness import Nearness, nearness
from triage.report.richness_tables import CoverageRow, CurvePoint, DiversityRow, RichnessRow
from triage.report.samples import Samples, adult_samples, exuviae_samples
from triage.report.seasons import SeasonRow, SiteEmergence
from triage.report.site_measures import MeasureCorrelation, SiteIndex, SiteValue

ROUNDS_OF_A_SCOPE = 199  # resamples for one site or one year
LEAST_WEIGHT = 0.2  # a fifth of a sighting: a young survey has nothing weightier to go by


@dataclass(frozen=True, slots=True, kw_only=True)
class Findings:
    """What a report says, computed once; every page, plot, table and sheet takes it from here."""

    evidence: tuple[SiteEvidence, ...]
    lists: tuple[SiteLists, ...]
    exuviae: Samples
    adults: Samples
    richness: tuple[RichnessRow, ...]
    coverage: tuple[CoverageRow, ...]
    diversity: tuple[DiversityRow, ...]
    curves: tuple[CurvePoint, ...]
    seasons: tuple[SeasonRow, ...]
    emergence: tuple[SiteEmergence, ...]
    detection: Detection
    absences: tuple[Absence, ...]
    nearness: tuple[Nearness, ...]
    agreement: tuple[Agreement, ...]
    sensitivity: tuple[Effect, ...]
    priorities: tuple[SearchPriority, ...]
    indices: tuple[SiteIndex, ...]
    values: tuple[SiteValue, ...]
    correlations: tuple[MeasureCorrelation, ...]


def evidence_of(material: Material) -> tuple[SiteEvidence, ...]:
    """Sites by taxa with their evidence."""
    content = material.content
    return tuple(
        site_evidence(
            content.sightings,
            content.sites,
            content.visits,
            content.lots,
            material.checklist,
            settings=EvidenceSettings(scheme=material.settings.scheme),
        )
    )


def priorities_of(material: Material, effort: Effort) -> tuple[SearchPriority, ...]:
    """Where to search next, its places as coarse as the release."""
    content = material.content
    found = search_priorities(
        content.sightings,
        content.matches,
        content.sites,
        content.visits,
        content.lots,
        material.checklist,
        year=latest_year(material),
        settings=PrioritySettings(least_score=LEAST_WEIGHT),
        effort=effort,
    )
    return tuple(_released(one, material) for one in found)


def latest_year(material: Material) -> int:
    """The latest year with a visit, a lot or a sighting; 0 for an empty survey."""
    content = material.content
    days = [
        *(visit.last_day for visit in content.visits),
        *(lot.last_day for lot in content.lots),
        *(sighting.event_date for sighting in content.sightings),
    ]
    return max((int(day[:4]) for day in days if day), default=0)


def _released(one: SearchPriority, material: Material) -> SearchPriority:
    if material.internal or one.decimal_latitude is None or one.decimal_longitude is None:
        return one
    site = material.release.site_points.get(one.location_id)
    if site is None and one.generalised:
        return one
    point = site or geodesy.generalise(
        one.decimal_latitude,
        one.decimal_longitude,
        uncertainty_metres=one.radius_in_meters or 0.0,
        precision_degrees=material.release.policy.release_precision,
    )
    return replace(
        one,
        decimal_latitude=point.decimal_latitude,
        decimal_longitude=point.decimal_longitude,
        radius_in_meters=point.coordinate_uncertainty_in_meters,
    )


def find(material: Material) -> Findings:
    """Compute everything; deterministic for the same material and seed."""
    settings = material.settings
    evidence = evidence_of(material)
    exuviae, adults = exuviae_samples(material), adult_samples(material)
    effort = absence_rows.effort_of(material)
    scopes = [
        (record, scope, part)
        for record, samples in (("exuviae", exuviae), ("adults", adults))
        for scope, part in _scopes(samples)
    ]
    return Findings(
        evidence=evidence,
        lists=tuple(site_lists(evidence, material.checklist)),
        exuviae=exuviae,
        adults=adults,
        richness=tuple(
            row
            for scope in scopes
            for row in richness_tables.richness_rows(scope, _rounds(scope[1], settings))
        ),
        coverage=tuple(richness_tables.coverage_rows(scopes)),
        diversity=tuple(richness_tables.diversity_rows(scopes, settings)),
        curves=tuple(
            point
            for record, samples in (("exuviae", exuviae), ("adults", adults))
            for point in richness_tables.curves(record, samples, settings)
        ),
        seasons=tuple(seasons.season_rows(material)),
        emergence=tuple(seasons.site_emergence(material)),
        detection=effort.detection,
        absences=tuple(absence_rows.absences(material, evidence, effort)),
        nearness=tuple(nearness(material)),
        agreement=tuple(agreement_rows(material)),
        sensitivity=tuple(sensitivity(material.content.matches)),
        priorities=priorities_of(material, effort),
        indices=tuple(site_measures.site_indices(evidence, material)),
        values=tuple(site_measures.site_values(material)),
        correlations=tuple(site_measures.correlations(evidence, material)),
    )


def _rounds(scope: str, settings: ReportSettings) -> ReportSettings:
    """Fewer resamples for single sites and years: there may be thousands of them."""
    if scope == "all":
        return settings
    return replace(settings, rounds=min(settings.rounds, ROUNDS_OF_A_SCOPE))


def _scopes(samples: Samples) -> list[tuple[str, Samples]]:
    """The whole, each year where there are several, each site."""
    years = sorted(set(samples.year))
    places = sorted({place for place in samples.place if place})
    return [
        ("all", samples),
        *((str(year), samples.of(year=year)) for year in years if len(years) > 1),
        *((place, samples.of(place=place)) for place in places),
    ]
