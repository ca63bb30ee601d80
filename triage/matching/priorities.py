"""Rank the places worth a search for exuviae.

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
from triage.exuviae import ExuviaeLot, Site, Visit
from triage.matching.behaviour import behaviour_of
from triage.matching.clusters import Cluster, clusters_within
from triage.matching.effort import Effort
from triage.matching.linking import has_usable_place
from triage.matching.records import Match
from triage.matching.search_priority import (
    LEAST_OF,
    PriorityKind,
    PrioritySettings,
    SearchPriority,
    passes_needed,
)
from triage.matching.settings import MatchingSettings
from triage.matching.weeks import day_and_month, search_days
from triage.sightings import Sighting
from triage.standards.cautions import cautions
from triage.standards.counting import counted
from triage.standards.tables import parse_event_days

GRID_OF_CATEGORY = {"2": 0.1, "3": 0.01, "4": 0.001}  # degrees; category 1 is not released

MOST_TAXA_APART = 5  # taxa with days of their own; more don't fit a volunteer's sheet


@dataclass(slots=True)
class _Support:
    """The sightings that speak for one place, by outing: one observer's day there."""

    members: list[Sighting] = field(default_factory=list)
    weights: dict[tuple[str, str], float] = field(default_factory=dict)
    by_taxon: dict[str, dict[tuple[str, str], float]] = field(default_factory=dict)

    def add(self, sighting: Sighting, weight: float) -> None:
        outing = sighting.observer, sighting.event_date[:10] or sighting.identifier
        self.members.append(sighting)
        self.weights[outing] = max(self.weights.get(outing, 0.0), weight)
        if sighting.scientific_name and not sighting.waits:
            of_it = self.by_taxon.setdefault(sighting.scientific_name, {})
            of_it[outing] = max(of_it.get(outing, 0.0), weight)

    @property
    def score(self) -> float:
        """The outings together, each by its weightiest sighting."""
        return sum(self.weights.values())

    def names(self) -> tuple[str, ...]:
        """The taxa, the weightiest first."""
        weight = {name: sum(of_it.values()) for name, of_it in self.by_taxon.items()}
        return tuple(sorted(weight, key=lambda name: (-weight[name], name)))


_Row = tuple[Sighting, Match]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Survey:
    """What every priority is made with."""

    effort: Effort
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
    effort: Effort | None = None,
) -> list[SearchPriority]:
    """Places worth a search, the weightiest first, at most ``most``; each place is one row.

    Parameters
    ----------
    sightings, matches : iterables
        As ``match_sightings`` took and gave them.
    year : int
        The year whose passes count for "searched too seldom".
    effort : Effort, optional
        The searches as the matches took them; made from visits and lots when left out.
    """
    survey = _Survey(
        effort=effort or Effort(visits, lots, checklist),
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
        *_known_sites(rows, sites, survey),
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


def _places_without_site(rows: Sequence[_Row], survey: _Survey) -> list[SearchPriority]:
    """Clusters of sightings that most likely come from none of the known sites."""
    settings = survey.settings
    members: list[Sighting] = []
    weights: list[float] = []
    likeliest: dict[str, float] = defaultdict(float)
    told: dict[str, float] = defaultdict(float)  # of 1; a release leaves out rows of hidden sites
    at_site: set[str] = set()  # their place is a known one, and has a row of its own
    for sighting, row in rows:
        likeliest[sighting.identifier] = max(likeliest[sighting.identifier], row.share)
        told[sighting.identifier] += row.share
        if row.distance_least is not None and row.distance_least <= settings.at_site_in_meters:
            at_site.add(sighting.identifier)
    for sighting, row in rows:
        radius = sighting.coordinate_uncertainty_in_meters or 0.0
        if (
            not row.location_id
            and row.share == likeliest[sighting.identifier]
            and row.share >= 1 - told[sighting.identifier]
            and sighting.identifier not in at_site
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
        seen = counted(count, "sighting")
        reason = (
            f"{seen} on {_outings(support)}, most likely from no known site{_what(support)}: look"
            " for the water they emerge from."
        )
        place = _place_of_cluster(cluster, support, survey)
        found.append(_priority("no known site", place, support, survey, 0, support.score, reason))
    return found


def _place_of_cluster(cluster: Cluster, support: _Support, survey: _Survey) -> _Place:
    """The centre, or a grid cell where it may be a home or gives a sensitive taxon away."""
    assumed = MatchingSettings().missing_uncertainty_in_meters
    widest = max(member.coordinate_uncertainty_in_meters or assumed for member in support.members)
    radius = cluster.radius + widest
    grids = [
        GRID_OF_CATEGORY.get(taxon.sensitive, math.inf)
        for member in support.members
        if (taxon := survey.checklist.resolve(member.scientific_name)) and taxon.sensitive
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
    rows: Iterable[_Row], sites: Iterable[Site], survey: _Survey
) -> list[SearchPriority]:
    """Sites whose adults speak of taxa not found there, or that were searched too seldom."""
    settings = survey.settings
    missing: dict[str, _Support] = defaultdict(_Support)
    present: dict[str, _Support] = defaultdict(_Support)
    for sighting, row in rows:
        if row.location_id and row.share >= settings.least_share_of_site:
            named = sighting.scientific_name and not sighting.waits
            not_found = named and row.breeding_evidence != "exuviae"
            weight = settings.weight(sighting) * row.share
            if not_found:
                missing[row.location_id].add(sighting, weight)
            else:
                present[row.location_id].add(sighting, weight * settings.part_of_known_taxon)
    by_id = {site.location_id: site for site in sites if not site.private}
    return [
        one
        for location_id in sorted(missing.keys() | present.keys())
        if location_id in by_id
        for one in _known_site(
            by_id[location_id], missing.get(location_id), present.get(location_id), survey
        )
    ]


def _known_site(
    site: Site, missing: _Support | None, present: _Support | None, survey: _Survey
) -> list[SearchPriority]:
    """One row for one site, or none: both reasons stand in it."""
    kind: PriorityKind = "searched too seldom"
    support, score, reasons = _Support(), 0.0, []
    if missing is not None:
        kind = "taxon not yet found"
        support, score = missing, missing.score
        made, least = _fewest_passes(site, missing, survey)
        reasons.append(
            f"Adults{_what(missing)} without exuviae found here; {_said(made)} in {survey.year} in"
            f" {f'the days of {least}them' if least else 'their days'}."
        )
    if present is not None:
        made, least = _fewest_passes(site, present, survey)
        missed = float(survey.effort.detection.missed(made))
        if 1 - missed < survey.settings.enough_detection:
            score += present.score * missed
            support = support if missing is not None else present
            reasons.append(
                f"{_said(made).capitalize()} in {survey.year} in the days of {least}the adults"
                " that may come from here: too few to say what emerges."
            )
    if not reasons:
        return []
    reasons += _loose_jars(site, survey)
    made, _ = _fewest_passes(site, support, survey)
    place = _place_of_site(site)
    return [_priority(kind, place, support, survey, made, score, " ".join(reasons))]


def _loose_jars(site: Site, survey: _Survey) -> list[str]:
    """What to do first where skins were gathered and no visit says so: that was a pass, too."""
    jars = survey.effort.lots_without_visit(site.location_id, year=survey.year)
    if not jars:
        return []
    gathered, their = ("was", "its") if jars == 1 else ("were", "their")
    return [
        f"{counted(jars, 'jar')} without a visit {gathered} gathered here in {survey.year}, which"
        f" counts as no pass: enter {their} visit before anybody is sent."
    ]


def _fewest_passes(site: Site, support: _Support, survey: _Survey) -> tuple[int, str]:
    """Passes of the year in the days of the taxon with the fewest; words if one of several."""
    of = survey.effort.candidates.of
    kinds = {
        of(one.scientific_name, one.taxon_rank, one.doubt, one.suborder) for one in support.members
    }
    passes = (survey.effort.passes_at(site.location_id, kind, year=survey.year) for kind in kinds)
    return min(passes), LEAST_OF if len(kinds) > 1 else ""


def _said(passes: int) -> str:
    return counted(passes, "pass", "passes") if passes else "no pass"


def _outings(support: _Support) -> str:
    return counted(len(support.weights), "outing")


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
    score: float,
    reason: str,
) -> SearchPriority:
    settings, checklist, effort = survey.settings, survey.checklist, survey.effort
    taxa = support.names()
    spoken_of = dict.fromkeys([*taxa, *sorted(one.scientific_name for one in support.members)])
    days = search_days(taxa, effort.lots, checklist, seen=_days_seen(support.members))
    behaviours = Counter(behaviour_of(member) for member in support.members)
    needed = passes_needed(effort.detection, settings.enough_detection)
    return SearchPriority(
        rank=0,
        kind=kind,
        location_id=place.location_id,
        locality=place.locality,
        decimal_latitude=place.latitude,
        decimal_longitude=place.longitude,
        radius_in_meters=place.radius,
        generalised=place.generalised,
        score=score,
        sightings=len(support.members),
        outings=len(support.weights),
        tenerals=behaviours["teneral"],
        pairs=behaviours["pair"] + behaviours["oviposition"],
        taxa=taxa,
        protected_taxa=tuple(
            name for name in spoken_of if (taxon := checklist.resolve(name)) and taxon.sensitive
        ),
        first_day=day_and_month(days.first) if days else "",
        last_day=day_and_month(days.last) if days else "",
        days_basis=days.basis if days else "",
        days_by_taxon=tuple(
            (name, day_and_month(own.first), day_and_month(own.last))
            for name in taxa[:MOST_TAXA_APART]
            if (own := search_days([name], effort.lots, checklist))
        ),
        passes=passes,
        detection=1 - float(effort.detection.missed(passes)),
        more_passes=max(0, needed - passes),
        reason=reason,
        cautions=cautions(),
    )


def _what(support: _Support) -> str:
    names = support.names()
    if not names:
        return ""
    more = f" and {counted(len(names) - 3, 'more taxon', 'more taxa')}" if len(names) > 3 else ""
    return f" ({', '.join(names[:3])}{more})"


def _days_seen(members: Iterable[Sighting]) -> list[tuple[date, date]]:
    seen = []
    for member in members:
        try:
            seen.append(parse_event_days(member.event_date))
        except ValueError:
            continue
    return seen
