"""Sightings with their matches in, a ranked list of places worth a search for exuviae out.

Pure records; whoever shows them shows the cautions with them. Places of persons are kept: a
cluster seen by one observer alone is given as a grid cell, private sites are left out, sensitive
ones and sensitive taxa are generalised by their category (Chapman 2020, table 7).
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date

import numpy as np

from triage.analysis import geodesy
from triage.checklist import Checklist
from triage.exuviae import ExuviaeLot, Site, Visit, complete_lots
from triage.matching.behaviour import behaviour_of
from triage.matching.clusters import Cluster, clusters_within
from triage.matching.linking import has_usable_place
from triage.matching.records import Match
from triage.matching.search_priority import (
    PriorityKind,
    PrioritySettings,
    SearchPriority,
    passes_needed,
)
from triage.matching.settings import MatchingSettings
from triage.matching.weeks import day_and_month, search_days
from triage.sightings import Sighting
from triage.standards.cautions import cautions
from triage.standards.tables import parse_event_days

GRID_OF_CATEGORY = {"2": 0.1, "3": 0.01, "4": 0.001}  # degrees; category 1 is not released

MOST_TAXA_APART = 5  # taxa with days of their own; more don't fit a volunteer's sheet


@dataclass(slots=True)
class _Support:
    """The sightings that speak for one place."""

    score: float = 0.0
    members: list[Sighting] = field(default_factory=list)
    taxa: dict[str, float] = field(default_factory=dict)

    def add(self, sighting: Sighting, weight: float) -> None:
        self.score += weight
        self.members.append(sighting)
        if sighting.scientific_name:
            known = self.taxa.get(sighting.scientific_name, 0.0)
            self.taxa[sighting.scientific_name] = known + weight

    def names(self) -> tuple[str, ...]:
        """The taxa, the weightiest first."""
        return tuple(sorted(self.taxa, key=lambda name: (-self.taxa[name], name)))


_Row = tuple[Sighting, Match]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Survey:
    """What every priority is made with."""

    lots: Sequence[ExuviaeLot]
    checklist: Checklist
    settings: PrioritySettings
    year: int


@dataclass(frozen=True, slots=True, kw_only=True)
class _Place:
    """Where, as far as it may be told."""

    location_id: str = ""
    locality: str = ""
    latitude: float | None = None
    longitude: float | None = None
    radius: float | None = None
    generalised: bool = False


def search_priorities(
    sightings: Iterable[Sighting],
    matches: Iterable[Match],
    sites: Sequence[Site],
    visits: Sequence[Visit],
    lots: Sequence[ExuviaeLot],
    checklist: Checklist,
    *,
    year: int,
    settings: PrioritySettings | None = None,
) -> list[SearchPriority]:
    """Places worth a search, the weightiest first, at most ``most``.

    Parameters
    ----------
    sightings, matches : iterables
        As ``match_sightings`` took and gave them.
    year : int
        The year whose passes count for "searched too seldom".
    """
    survey = _Survey(
        lots=complete_lots(lots, visits),
        checklist=checklist,
        settings=settings or PrioritySettings(),
        year=year,
    )
    by_identifier = {sighting.identifier: sighting for sighting in sightings}
    rows = sorted(
        (
            (by_identifier[match.sighting], match)
            for match in matches
            if match.sighting in by_identifier
        ),
        key=lambda row: (row[1].sighting, row[1].location_id),
    )
    found = [
        *_places_without_site(rows, survey),
        *_known_sites(rows, sites, visits, survey),
    ]
    found = [one for one in found if one.score >= survey.settings.least_score]
    found.sort(
        key=lambda one: (
            -one.score,
            one.kind,
            one.location_id,
            one.decimal_latitude or 0.0,
            one.decimal_longitude or 0.0,
        )
    )
    most = survey.settings.most
    return [replace(one, rank=rank) for rank, one in enumerate(found[:most], start=1)]


def _places_without_site(rows: Iterable[_Row], survey: _Survey) -> list[SearchPriority]:
    """Clusters of sightings that most likely come from none of the known sites."""
    settings = survey.settings
    members: list[Sighting] = []
    weights: list[float] = []
    for sighting, row in rows:
        radius = sighting.coordinate_uncertainty_in_meters or 0.0
        if (
            not row.location_id
            and row.share > 0.5
            and row.kernel != "migrant"
            and has_usable_place(sighting)
            and radius <= settings.widest_uncertainty_in_meters
        ):
            members.append(sighting)
            weights.append(settings.weight(sighting) * row.share)
    clusters = clusters_within(
        np.array([member.decimal_latitude for member in members], dtype=np.float64),
        np.array([member.decimal_longitude for member in members], dtype=np.float64),
        np.array(weights),
        [member.identifier for member in members],
        settings.cluster_radius_in_meters,
    )
    found = []
    for cluster in clusters:
        support = _Support()
        for index in cluster.members:
            support.add(members[index], weights[index])
        count = len(support.members)
        seen = "1 sighting" if count == 1 else f"{count} sightings"
        reason = f"{seen} with no known site in reach{_what(support)}: look for the water they "
        place = _place_of_cluster(cluster, support, survey)
        found.append(_priority("no known site", place, support, survey, 0, f"{reason}emerge from."))
    return found


def _place_of_cluster(cluster: Cluster, support: _Support, survey: _Survey) -> _Place:
    """The centre, or a grid cell where it may be a home or gives a sensitive taxon away."""
    assumed = MatchingSettings().missing_uncertainty_in_meters
    widest = max(member.coordinate_uncertainty_in_meters or assumed for member in support.members)
    radius = cluster.radius + widest
    grids = [
        GRID_OF_CATEGORY.get(taxon.sensitive, math.inf)
        for name in support.taxa
        if (taxon := survey.checklist.resolve(name)) and taxon.sensitive
    ]
    observers = {member.observer for member in support.members}
    if len(observers) < survey.settings.fewest_observers:
        grids.append(survey.settings.grid_of_lone_observer_in_degrees)
    if not grids:
        return _Place(
            latitude=cluster.decimal_latitude, longitude=cluster.decimal_longitude, radius=radius
        )
    if math.isinf(max(grids)):
        return _Place(generalised=True)
    point = geodesy.generalise(
        cluster.decimal_latitude,
        cluster.decimal_longitude,
        uncertainty_metres=radius,
        precision_degrees=max(grids),
    )
    return _Place(
        latitude=point.decimal_latitude,
        longitude=point.decimal_longitude,
        radius=point.coordinate_uncertainty_in_meters,
        generalised=True,
    )


def _known_sites(
    rows: Iterable[_Row], sites: Iterable[Site], visits: Iterable[Visit], survey: _Survey
) -> list[SearchPriority]:
    """Sites whose adults speak of taxa not found there, or that were searched too seldom."""
    settings = survey.settings
    missing: dict[str, _Support] = defaultdict(_Support)
    present: dict[str, _Support] = defaultdict(_Support)
    for sighting, row in rows:
        if not row.location_id or row.share < settings.least_share_of_site:
            continue
        weight = settings.weight(sighting) * row.share
        if sighting.scientific_name and row.breeding_evidence != "exuviae":
            missing[row.location_id].add(sighting, weight)
        else:
            present[row.location_id].add(sighting, weight * settings.part_of_known_taxon)
    passes = Counter[str]()
    for visit in visits:
        if visit.last_day.startswith(f"{survey.year:04d}-"):
            passes[visit.location_id] += visit.passes
    found = []
    for site in sites:
        if site.private:
            continue
        made = passes[site.location_id]
        said = "no pass" if not made else "1 pass" if made == 1 else f"{made} passes"
        place = _place_of_site(site)
        if support := missing.get(site.location_id):
            reason = f"Adults{_what(support)} without exuviae found here; {said} in {survey.year}."
            found.append(_priority("taxon not yet found", place, support, survey, made, reason))
        detection = 1 - (1 - settings.detection_per_pass) ** made
        if detection < settings.enough_detection and (support := present.get(site.location_id)):
            reason = f"{said} in {survey.year}: too few to say what does not emerge here."
            reason = reason[0].upper() + reason[1:]
            found.append(_priority("searched too seldom", place, support, survey, made, reason))
    return found


def _place_of_site(site: Site) -> _Place:
    if site.sensitivity:
        return _Place(location_id=site.location_id, generalised=True)
    return _Place(
        location_id=site.location_id,
        locality=site.locality,
        latitude=site.decimal_latitude,
        longitude=site.decimal_longitude,
        radius=site.coordinate_uncertainty_in_meters,
    )


def _priority(
    kind: PriorityKind,
    place: _Place,
    support: _Support,
    survey: _Survey,
    passes: int,
    reason: str,
) -> SearchPriority:
    settings, checklist = survey.settings, survey.checklist
    taxa = support.names()
    days = search_days(taxa, survey.lots, checklist, seen=_days_seen(support.members))
    behaviours = Counter(behaviour_of(member) for member in support.members)
    missed = (1 - settings.detection_per_pass) ** passes
    needed = passes_needed(settings.detection_per_pass, settings.enough_detection)
    return SearchPriority(
        rank=0,
        kind=kind,
        location_id=place.location_id,
        locality=place.locality,
        decimal_latitude=place.latitude,
        decimal_longitude=place.longitude,
        radius_in_meters=place.radius,
        generalised=place.generalised,
        score=support.score * missed,
        sightings=len(support.members),
        tenerals=behaviours["teneral"],
        pairs=behaviours["pair"] + behaviours["oviposition"],
        taxa=taxa,
        protected_taxa=tuple(
            name for name in taxa if (taxon := checklist.resolve(name)) and taxon.sensitive
        ),
        first_day=day_and_month(days.first) if days else "",
        last_day=day_and_month(days.last) if days else "",
        days_basis=days.basis if days else "",
        days_by_taxon=tuple(
            (name, day_and_month(own.first), day_and_month(own.last))
            for name in taxa[:MOST_TAXA_APART]
            if (own := search_days([name], survey.lots, checklist))
        ),
        passes=passes,
        detection=1 - missed,
        more_passes=max(0, needed - passes),
        reason=reason,
        cautions=cautions(),
    )


def _what(support: _Support) -> str:
    names = support.names()
    if not names:
        return ""
    more = f" and {len(names) - 3} more taxa" if len(names) > 3 else ""
    return f" ({', '.join(names[:3])}{more})"


def _days_seen(members: Iterable[Sighting]) -> list[tuple[date, date]]:
    seen = []
    for member in members:
        try:
            seen.append(parse_event_days(member.event_date))
        except ValueError:
            continue
    return seen
