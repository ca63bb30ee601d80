"""List each site's evidence that a taxon breeds there."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal, get_args

import numpy as np

from triage.checklist import Checklist
from triage.errors import UnknownError
from triage.exuviae import ExuviaeLot, Site, Visit, complete_lots
from triage.matching.behaviour import behaviour_of, evidence_data
from triage.matching.candidates import name_of_lot
from triage.matching.linking import has_usable_place
from triage.matching.places import SitePlaces
from triage.matching.settings import MatchingSettings
from triage.sightings import Sighting
from triage.standards.tables import parse_event_days

Evidence = Literal[
    "exuviae",
    "teneral",
    "oviposition",
    "pair",
    "exuviae to a coarser rank",
    "adults",
    "adults out of season",
    "waiting for a second look",
    "searched and not found",
]
WAITING: Evidence = "waiting for a second look"
STRENGTH: tuple[Evidence, ...] = get_args(Evidence)  # the strongest first
_Key = tuple[str, str, str, int, Evidence]


@dataclass(frozen=True, slots=True, kw_only=True)
class EvidenceScheme:
    """A published set of classes: what each kind of evidence counts as, and who says so."""

    name: str
    source: str
    classes: Mapping[str, str]


def published_schemes() -> tuple[EvidenceScheme, ...]:
    """The sets of classes of ``evidence.toml``; the first is the default."""
    return tuple(EvidenceScheme(**entry) for entry in evidence_data()["scheme"])


def scheme_named(name: str) -> EvidenceScheme:
    """The published classes that a name, or the beginning of one, means; the first if empty.

    Raises
    ------
    UnknownError
        If there are none of that name.
    """
    known = published_schemes()
    for scheme in known:
        if scheme.name.casefold().startswith(name.strip().casefold()):
            return scheme
    raise UnknownError(
        "there are no classes of that name",
        failing=name,
        next_step=f"One of: {', '.join(scheme.name for scheme in known)}.",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class EvidenceSettings:
    """When an adult counts as seen at a site, and by which classes evidence is named.

    An adult is at a site if its position lies at most ``at_site_in_meters`` from the nearest part
    of it (from the site's own circle of uncertainty, for one without a footprint) and is known to
    within ``widest_uncertainty_in_meters``; or if its place is that site by name.
    """

    scheme: EvidenceScheme = field(default_factory=lambda: published_schemes()[0])
    at_site_in_meters: float = 50.0  # "same bank", a band of this product
    widest_uncertainty_in_meters: float = 250.0


@dataclass(frozen=True, slots=True, kw_only=True)
class OfTaxonAtSite:
    """One kind of evidence of one taxon at one site in one year, on these ISO days."""

    location_id: str
    scientific_name: str
    taxon_rank: str
    year: int
    evidence: Evidence
    first_day: str
    last_day: str

    @property
    def key(self) -> _Key:
        """What is the same evidence has the same."""
        return self.location_id, self.scientific_name, self.taxon_rank, self.year, self.evidence


@dataclass(frozen=True, slots=True, kw_only=True)
class AdultAtSite(OfTaxonAtSite):
    """What one named and dated sighting is evidence of, at the site where it was."""

    sighting: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AdultTally(OfTaxonAtSite):
    """How many sightings are the same evidence."""

    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class SiteEvidence(OfTaxonAtSite):
    """How much there is of one kind of evidence, and which class it is of.

    ``exuviae to a coarser rank`` are skins named only to a genus or higher that holds the taxon.
    ``count`` is individuals for exuviae, visits for ``searched and not found`` (those of the
    whole year that found none of the taxon), and sightings otherwise. An empty ``evidence_class``
    means that the scheme has no class for it.
    """

    evidence_class: str
    count: int


@dataclass(slots=True)
class _Tally:
    count: int = 0
    first: str = ""
    last: str = ""

    def add(self, count: int, first: str, last: str) -> None:
        self.count += count
        self.first = min(self.first or first, first)
        self.last = max(self.last, last)


def site_evidence(
    sightings: Iterable[Sighting],
    sites: Sequence[Site],
    visits: Sequence[Visit],
    lots: Sequence[ExuviaeLot],
    checklist: Checklist,
    *,
    settings: EvidenceSettings | None = None,
) -> list[SiteEvidence]:
    """All evidence, sorted by site, taxon, year and strength.

    Names are the accepted ones of the checklist; a name in doubt (cf.) counts for its genus. A
    name that waits for a second look is listed as that, whatever the adult did, and is no more.
    Undetermined and undated records count for nothing here. Searches that did not find a taxon
    are listed for the taxa of which the site has any other evidence, and for those that a lot
    with a count of 0 names.
    """
    chosen = settings or EvidenceSettings()
    adults = tally_adults(adult_evidence(sightings, sites, checklist, settings=chosen))
    return evidence_with_adults(adults, sites, visits, lots, checklist, settings=chosen)


def evidence_with_adults(
    adults: Iterable[AdultTally],
    sites: Sequence[Site],
    visits: Sequence[Visit],
    lots: Sequence[ExuviaeLot],
    checklist: Checklist,
    *,
    settings: EvidenceSettings | None = None,
) -> list[SiteEvidence]:
    """The same of adults that were tallied already."""
    chosen = settings or EvidenceSettings()
    tallies: dict[_Key, _Tally] = defaultdict(_Tally)
    looked_for: set[tuple[str, str, str]] = set()
    known = {site.location_id for site in sites}
    for lot in complete_lots(lots, visits):
        if lot.location_id not in known or not lot.last_day:
            continue
        name, rank = name_of_lot(checklist, lot)
        looked_for.add((lot.location_id, name, rank))
        if lot.individual_count:
            key: _Key = (lot.location_id, name, rank, int(lot.last_day[:4]), "exuviae")
            tallies[key].add(lot.individual_count, lot.first_day, lot.last_day)
    for one in adults:
        tallies[one.key].add(one.count, one.first_day, one.last_day)
    looked_for.update(key[:3] for key in tallies if key[4] != WAITING)
    _count_coarser_exuviae(looked_for, checklist, tallies)
    _count_searches(visits, known, looked_for, tallies)
    return [
        SiteEvidence(
            location_id=location_id,
            scientific_name=name,
            taxon_rank=rank,
            year=year,
            evidence=evidence,
            evidence_class=chosen.scheme.classes.get(evidence, ""),
            count=tally.count,
            first_day=tally.first,
            last_day=tally.last,
        )
        for (location_id, name, rank, year, evidence), tally in sorted(
            tallies.items(), key=lambda entry: (*entry[0][:4], STRENGTH.index(entry[0][4]))
        )
    ]


def strongest_evidence(records: Iterable[SiteEvidence]) -> dict[tuple[str, str], SiteEvidence]:
    """The strongest kind of evidence of each taxon at each site, whatever the year.

    Among equals that of the latest year.
    """
    best: dict[tuple[str, str], SiteEvidence] = {}
    for record in records:
        key = (record.location_id, record.scientific_name)
        known = best.get(key)
        if known is None or (STRENGTH.index(record.evidence), -record.year) < (
            STRENGTH.index(known.evidence),
            -known.year,
        ):
            best[key] = record
    return best


def adults_at_sites(
    sightings: Iterable[Sighting],
    sites: Sequence[Site],
    *,
    settings: EvidenceSettings | None = None,
) -> list[tuple[Sighting, str]]:
    """Sightings that were at a site, each with the locationID of the nearest one."""
    chosen = settings or EvidenceSettings()
    ordered = sorted(sites, key=lambda site: site.location_id)
    known = {site.location_id for site in ordered}
    found: list[tuple[Sighting, str]] = []
    open_places: list[Sighting] = []
    for sighting in sightings:
        radius = sighting.coordinate_uncertainty_in_meters
        if sighting.location_id in known:
            found.append((sighting, sighting.location_id))
        elif has_usable_place(sighting) and not (
            radius is not None and radius > chosen.widest_uncertainty_in_meters
        ):
            open_places.append(sighting)
    places = SitePlaces(ordered, MatchingSettings())
    latitude = np.array([sighting.decimal_latitude for sighting in open_places], dtype=np.float64)
    longitude = np.array([sighting.decimal_longitude for sighting in open_places], dtype=np.float64)
    pairs = places.pairs_within(
        latitude, longitude, np.zeros(len(open_places)), chosen.at_site_in_meters
    )
    nearest: dict[int, tuple[float, int]] = {}
    for who, where, distance in zip(
        pairs.sighting.tolist(), pairs.site.tolist(), pairs.distance.tolist(), strict=True
    ):
        nearest[who] = min(nearest.get(who, (math.inf, 0)), (distance, where))
    found.extend(
        (open_places[who], ordered[where].location_id)
        for who, (_, where) in sorted(nearest.items())
    )
    return found


def adult_evidence(
    sightings: Iterable[Sighting],
    sites: Sequence[Site],
    checklist: Checklist,
    *,
    settings: EvidenceSettings | None = None,
) -> list[AdultAtSite]:
    """What each sighting is evidence of; none for those without a site, a name or a day."""
    found = [
        _adult(sighting, location_id, checklist)
        for sighting, location_id in adults_at_sites(sightings, sites, settings=settings)
    ]
    return [one for one in found if one is not None]


def tally_adults(adults: Iterable[AdultAtSite]) -> list[AdultTally]:
    """Count what is the same evidence."""
    tallies: dict[_Key, _Tally] = defaultdict(_Tally)
    for one in adults:
        tallies[one.key].add(1, one.first_day, one.last_day)
    return [
        AdultTally(
            location_id=location_id,
            scientific_name=name,
            taxon_rank=rank,
            year=year,
            evidence=evidence,
            count=tally.count,
            first_day=tally.first,
            last_day=tally.last,
        )
        for (location_id, name, rank, year, evidence), tally in tallies.items()
    ]


def _adult(sighting: Sighting, location_id: str, checklist: Checklist) -> AdultAtSite | None:
    if not sighting.scientific_name:
        return None
    try:
        first, last = parse_event_days(sighting.event_date)
    except ValueError:
        return None
    name, rank = checklist.without_doubt(
        sighting.scientific_name, sighting.taxon_rank, sighting.qualifier
    )
    evidence: Evidence = behaviour_of(sighting) or "adults"
    taxon = checklist.resolve(name)
    if evidence == "adults" and taxon is not None:
        out_of_season = checklist.in_season(taxon, sighting.event_date) is False
        evidence = "adults out of season" if out_of_season else "adults"
    evidence = WAITING if sighting.waits else evidence
    return AdultAtSite(
        sighting=sighting.identifier,
        location_id=location_id,
        scientific_name=name,
        taxon_rank=rank,
        year=last.year,
        evidence=evidence,
        first_day=first.isoformat(),
        last_day=last.isoformat(),
    )


def _count_coarser_exuviae(
    looked_for: set[tuple[str, str, str]], checklist: Checklist, tallies: dict[_Key, _Tally]
) -> None:
    """Give each taxon the skins of its site that carry the name of its genus, family or above."""
    exuviae = [(key, tally) for key, tally in tallies.items() if key[4] == "exuviae"]
    by_site: dict[str, list[tuple[_Key, _Tally]]] = defaultdict(list)
    for key, tally in exuviae:
        by_site[key[0]].append((key, tally))
    for location_id, name, rank in looked_for:
        for (_, coarser, its_rank, year, _), tally in by_site[location_id]:
            if coarser == name or checklist.lineage(name).get(its_rank) != coarser:
                continue
            its_key: _Key = (location_id, name, rank, year, "exuviae to a coarser rank")
            tallies[its_key].add(tally.count, tally.first, tally.last)


def _count_searches(
    visits: Iterable[Visit],
    known: set[str],
    looked_for: set[tuple[str, str, str]],
    tallies: dict[_Key, _Tally],
) -> None:
    searches: dict[str, dict[int, _Tally]] = defaultdict(lambda: defaultdict(_Tally))
    for visit in visits:
        if visit.location_id in known:
            of_year = searches[visit.location_id][int(visit.last_day[:4])]
            of_year.add(1, visit.first_day, visit.last_day)
    for location_id, name, rank in looked_for:
        for year, of_year in searches[location_id].items():
            here = (location_id, name, rank, year)
            if (*here, "exuviae") in tallies or (*here, "exuviae to a coarser rank") in tallies:
                continue
            key: _Key = (location_id, name, rank, year, "searched and not found")
            tallies[key].add(of_year.count, of_year.first, of_year.last)
