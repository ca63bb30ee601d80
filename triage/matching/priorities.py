"""Sightings with their matches in, a ranked list of places worth a search for exuviae out.

Pure records; whoever shows them shows the cautions with them. Places of persons are kept: a
cluster seen by one observer alone is given as a grid cell, private sites are left out, sensitive
ones and sensitive taxa are generalised by their category (Chapman 2020, table 7).
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
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
    chosen = settings or PrioritySettings()
    by_identifier = {sighting.identifier: sighting for sighting in sightings}
    complete = complete_lots(lots, visits)
    rows = sorted(
        (match for match in matches if match.sighting in by_identifier),
        key=lambda match: (match.sighting, match.location_id),
    )
    found = [
        *_places_without_site(by_identifier, rows, complete, checklist, chosen),
        *_known_sites(by_identifier, rows, sites, visits, complete, checklist, year, chosen),
    ]
    found = [priority for priority in found if priority.score >= chosen.least_score]
    found.sort(
        key=lambda one: (
            -one.score,
            one.kind,
            one.location_id,
            one.decimal_latitude or 0.0,
            one.decimal_longitude or 0.0,
        )
    )
    return [replace(one, rank=rank) for rank, one in enumerate(found[: chosen.most], start=1)]


def _places_without_site(
    sightings: Mapping[str, Sighting],
    rows: Iterable[Match],
    lots: Sequence[ExuviaeLot],
    checklist: Checklist,
    settings: PrioritySettings,
) -> list[SearchPriority]:
    """Clusters of sightings that most likely come from none of the known sites."""
    members: list[Sighting] = []
    weights: list[float] = []
    for row in rows:
        sighting = sightings[row.sighting]
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
        found.append(_of_cluster(cluster, support, lots, checklist, settings))
    return found


def _of_cluster(
    cluster: Cluster,
    support: _Support,
    lots: Sequence[ExuviaeLot],
    checklist: Checklist,
    settings: PrioritySettings,
) -> SearchPriority:
    widest = max(member.coordinate_uncertainty_in_meters or 0.0 for member in support.members)
    radius = cluster.radius + (widest or MatchingSettings().missing_uncertainty_in_meters)
    grids = [
        GRID_OF_CATEGORY.get(taxon.sensitive, math.inf)
        for name in support.taxa
        if (taxon := checklist.resolve(name)) and taxon.sensitive
    ]
    if len({member.observer for member in support.members}) < settings.fewest_observers:
        grids.append(settings.grid_of_lone_observer_in_degrees)
    grid = max(grids, default=0.0)
    latitude: float | None = cluster.decimal_latitude
    longitude: float | None = cluster.decimal_longitude
    told: float | None = radius
    if math.isinf(grid):
        latitude = longitude = told = None
    elif grid:
        point = geodesy.generalise(
            cluster.decimal_latitude,
            cluster.decimal_longitude,
            uncertainty_metres=radius,
            precision_degrees=grid,
        )
        latitude, longitude = point.decimal_latitude, point.decimal_longitude
        told = point.coordinate_uncertainty_in_meters
    count = len(support.members)
    seen = "1 sighting" if count == 1 else f"{count} sightings"
    return _priority(
        support,
        kind="no known site",
        place=("", "", latitude, longitude, told),
        generalised=bool(grid),
        lots=lots,
        passes=0,
        checklist=checklist,
        settings=settings,
        reason=f"{seen} with no known site in reach{_what(support)}: look for the water they "
        "emerge from.",
    )


def _known_sites(
    sightings: Mapping[str, Sighting],
    rows: Iterable[Match],
    sites: Sequence[Site],
    visits: Sequence[Visit],
    lots: Sequence[ExuviaeLot],
    checklist: Checklist,
    year: int,
    settings: PrioritySettings,
) -> list[SearchPriority]:
    """Sites whose adults speak of taxa not found there, or that were searched too seldom."""
    missing: dict[str, _Support] = defaultdict(_Support)
    present: dict[str, _Support] = defaultdict(_Support)
    for row in rows:
        if not row.location_id:
            continue
        sighting = sightings[row.sighting]
        weight = settings.weight(sighting) * row.share
        if sighting.scientific_name and row.breeding_evidence != "exuviae":
            missing[row.location_id].add(sighting, weight)
        else:
            present[row.location_id].add(sighting, weight * settings.part_of_known_taxon)
    passes = Counter[str]()
    for visit in visits:
        if visit.last_day.startswith(f"{year:04d}-"):
            passes[visit.location_id] += visit.passes
    found = []
    for site in sites:
        if site.private:
            continue
        made = passes[site.location_id]
        missed = (1 - settings.detection_per_pass) ** made
        for kind, support in (
            ("taxon not yet found", missing.get(site.location_id)),
            ("searched too seldom", present.get(site.location_id)),
        ):
            if support is None or (
                kind == "searched too seldom" and 1 - missed >= settings.enough_detection
            ):
                continue
            support.score *= missed
            found.append(_of_site(site, kind, support, made, lots, checklist, year, settings))
    return found


def _of_site(
    site: Site,
    kind: str,
    support: _Support,
    passes: int,
    lots: Sequence[ExuviaeLot],
    checklist: Checklist,
    year: int,
    settings: PrioritySettings,
) -> SearchPriority:
    made = "no pass" if not passes else "1 pass" if passes == 1 else f"{passes} passes"
    if kind == "taxon not yet found":
        reason = f"adults{_what(support)} without exuviae found here, and {made} in {year}."
    else:
        reason = f"{made} in {year}: too few to say what does not emerge here."
    hidden = bool(site.sensitivity)
    return _priority(
        support,
        kind="taxon not yet found" if kind == "taxon not yet found" else "searched too seldom",
        place=(
            site.location_id,
            "" if hidden else site.locality,
            None if hidden else site.decimal_latitude,
            None if hidden else site.decimal_longitude,
            None if hidden else site.coordinate_uncertainty_in_meters,
        ),
        generalised=hidden,
        lots=lots,
        passes=passes,
        checklist=checklist,
        settings=settings,
        reason=reason[0].upper() + reason[1:],
    )


def _priority(
    support: _Support,
    *,
    kind: PriorityKind,
    place: tuple[str, str, float | None, float | None, float | None],
    generalised: bool,
    lots: Sequence[ExuviaeLot],
    passes: int,
    checklist: Checklist,
    settings: PrioritySettings,
    reason: str,
) -> SearchPriority:
    behaviours = Counter(behaviour_of(member) for member in support.members)
    taxa = tuple(
        name for name, _ in sorted(support.taxa.items(), key=lambda one: (-one[1], one[0]))
    )
    days = search_days(taxa, lots, checklist, seen=_days_seen(support.members))
    needed = passes_needed(settings.detection_per_pass, settings.enough_detection)
    return SearchPriority(
        rank=0,
        kind=kind,
        location_id=place[0],
        locality=place[1],
        decimal_latitude=place[2],
        decimal_longitude=place[3],
        radius_in_meters=place[4],
        generalised=generalised,
        score=support.score,
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
            if (own := search_days([name], lots, checklist))
        ),
        passes=passes,
        detection=1 - (1 - settings.detection_per_pass) ** passes,
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
