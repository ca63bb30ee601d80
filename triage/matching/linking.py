"""Sightings, sites, visits, lots and the checklist in; matches with their shares out."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice

import numpy as np

from triage.checklist import Checklist
from triage.exuviae import ExuviaeLot, Site, Visit
from triage.matching import wording
from triage.matching.behaviour import is_teneral
from triage.matching.breeding import BELOW_GENUS, SEASONS, SiteExuviae, window_for
from triage.matching.likelihood import Basis, SightingPlaces, Weighed, weigh
from triage.matching.movement import kernel_for, none_term, reach
from triage.matching.places import SitePlaces
from triage.matching.records import Match
from triage.matching.settings import MatchingSettings
from triage.sightings import Sighting
from triage.standards.tables import parse_event_days

CHUNK = 10_000  # sightings at a time: bounds the memory, and is enough to work by whole arrays


@dataclass(frozen=True, slots=True)
class _Kind:
    """What sightings have in common that are matched alike."""

    name: str
    rank: str
    suborder: str
    teneral: bool


def match_sightings(
    sightings: Iterable[Sighting],
    sites: Sequence[Site],
    visits: Sequence[Visit],
    lots: Sequence[ExuviaeLot],
    checklist: Checklist,
    *,
    settings: MatchingSettings | None = None,
) -> Iterator[Match]:
    """Match each sighting with the sites that it may have emerged at.

    A sighting with coordinates gives one row for each site within reach that earns
    ``least_share``, at most ``most_sites`` of them and at least the likeliest, and one row for
    "none of the known sites". Shares sum to 1 over these rows. Within a sighting the likeliest
    site comes first and "none" last; sightings keep their order. One without usable coordinates
    gives no rows. The order of sites, visits and lots changes nothing.
    """
    matcher = _Matcher(sites, visits, lots, checklist, settings or MatchingSettings())
    remaining = iter(sightings)
    while chunk := list(islice(remaining, CHUNK)):
        yield from matcher.match(chunk)


def has_usable_place(sighting: Sighting) -> bool:
    """Whether the sighting has coordinates that lie on the earth."""
    latitude, longitude = sighting.decimal_latitude, sighting.decimal_longitude
    return (
        latitude is not None
        and longitude is not None
        and abs(latitude) <= 90
        and abs(longitude) <= 360
    )


class _Matcher:
    def __init__(
        self,
        sites: Sequence[Site],
        visits: Sequence[Visit],
        lots: Sequence[ExuviaeLot],
        checklist: Checklist,
        settings: MatchingSettings,
    ) -> None:
        self.sites = sorted(sites, key=lambda site: site.location_id)
        self.checklist = checklist
        self.settings = settings
        self.places = SitePlaces(self.sites, settings)
        self.exuviae = SiteExuviae(self.sites, visits, lots, checklist, settings)
        self._bases: dict[_Kind, Basis] = {}

    def match(self, chunk: Sequence[Sighting]) -> Iterator[Match]:
        """Matches of some sightings, in their order."""
        groups: dict[_Kind, list[int]] = defaultdict(list)
        for index, sighting in enumerate(chunk):
            if has_usable_place(sighting):
                groups[self._kind(sighting)].append(index)
        rows: dict[int, list[Match]] = {}
        for kind, members in groups.items():
            found = self._match_kind(kind, [chunk[member] for member in members])
            rows.update(zip(members, found, strict=True))
        for index in sorted(rows):
            yield from rows[index]

    def _kind(self, sighting: Sighting) -> _Kind:
        name, rank = sighting.scientific_name, sighting.taxon_rank
        taxon = self.checklist.resolve(name) if name else None
        if taxon is not None:
            name, rank = taxon.scientific_name, rank or taxon.rank
        if sighting.qualifier and rank in BELOW_GENUS:
            rank = "genus"
        known = "suborder" in self.checklist.lineage(name)
        suborder = "" if known else sighting.suborder.strip().casefold()
        return _Kind(name, rank, suborder, is_teneral(sighting))

    def _basis(self, kind: _Kind) -> Basis:
        if kind not in self._bases:
            lineage = self.checklist.lineage(kind.name)
            kernel = kernel_for(
                lineage, kind.suborder, teneral=kind.teneral, kernels=self.settings.kernels
            )
            self._bases[kind] = Basis(
                kernel=kernel,
                window=window_for(lineage, teneral=kind.teneral, windows=self.settings.windows),
                at_sites=self.exuviae.of_taxon(kind.name, kind.rank, kind.suborder),
                none_term=none_term(kernel, self.settings) if kernel.infers else 1.0,
                reach=reach(kernel, self.settings),
            )
        return self._bases[kind]

    def _match_kind(self, kind: _Kind, members: Sequence[Sighting]) -> list[list[Match]]:
        basis = self._basis(kind)
        if not basis.kernel.infers:
            return [[self._none_row(member, kind, basis, 1.0)] for member in members]
        where = self._places_of(members)
        weighed = weigh(where, self.places, basis, self.settings)
        rows: list[list[Match]] = [[] for _ in members]
        for pair, index in enumerate(weighed.sighting.tolist()):
            radius = float(where.radius[index])
            rows[index].append(self._site_row(members[index], kind, basis, weighed, pair, radius))
        for index, member in enumerate(members):
            share = float(weighed.none_share[index])
            left_out = int(weighed.left_out[index]), float(weighed.left_out_share[index])
            named = len(rows[index])
            rows[index].append(self._none_row(member, kind, basis, share, named, left_out))
        return rows

    def _places_of(self, members: Sequence[Sighting]) -> SightingPlaces:
        days = np.array([_days(member.event_date) for member in members], dtype=np.int64)
        return SightingPlaces(
            latitude=np.array([member.decimal_latitude for member in members], dtype=np.float64),
            longitude=np.array([member.decimal_longitude for member in members], dtype=np.float64),
            radius=np.array([self._radius(member) for member in members]),
            first_day=days[:, 0],
            last_day=days[:, 1],
        )

    def _radius(self, sighting: Sighting) -> float:
        radius = sighting.coordinate_uncertainty_in_meters
        if radius is None or not 0 < radius < math.inf:
            return self.settings.missing_uncertainty_in_meters
        return radius

    def _site_row(
        self,
        sighting: Sighting,
        kind: _Kind,
        basis: Basis,
        weighed: Weighed,
        pair: int,
        radius: float,
    ) -> Match:
        of_taxon, at = basis.at_sites, int(weighed.site[pair])
        site = self.sites[at]
        distance = float(weighed.distance[pair])
        around = radius + float(self.places.uncertainty[at])
        least, most = max(0.0, distance - around), distance + around
        season = SEASONS[weighed.season[pair]]
        known = bool(weighed.days_known[pair])
        days = (int(weighed.days_least[pair]), int(weighed.days_most[pair])) if known else None
        share = float(weighed.share[pair])
        return Match(
            sighting=sighting.identifier,
            location_id=site.location_id,
            distance=distance,
            distance_least=least,
            distance_most=most,
            days_least=days[0] if days else None,
            days_most=days[1] if days else None,
            season=season,
            taxon_agreement=of_taxon.agreement[at],
            agreement_rank=of_taxon.rank[at],
            movement_term=float(weighed.movement_term[pair]),
            season_term=float(weighed.season_term[pair]),
            taxon_term=float(weighed.taxon_term[pair]),
            likelihood=float(weighed.likelihood[pair]),
            share=share,
            reason=wording.of_site(
                site,
                name=kind.name,
                distance=distance,
                least=least,
                most=most,
                season=season,
                days=days,
                agreement=of_taxon.agreement[at],
                rank=of_taxon.rank[at],
                evidence=of_taxon.evidence[at],
                count=of_taxon.count[at],
                years=of_taxon.years[at],
                share=share,
            ),
            breeding_evidence=of_taxon.evidence[at],
            exuviae_count=of_taxon.count[at],
            exuviae_years=of_taxon.years[at],
            kernel=basis.kernel.name,
        )

    def _none_row(
        self,
        sighting: Sighting,
        kind: _Kind,
        basis: Basis,
        share: float,
        sites_named: int = 0,
        left_out: tuple[int, float] = (0, 0.0),
    ) -> Match:
        nearest = None
        if not sites_named and basis.kernel.infers:
            assert sighting.decimal_latitude is not None
            assert sighting.decimal_longitude is not None
            at = self.places.nearest(sighting.decimal_latitude, sighting.decimal_longitude)
            nearest = (self.sites[at[0]], at[1]) if at else None
        return Match(
            sighting=sighting.identifier,
            location_id="",
            distance=None,
            distance_least=None,
            distance_most=None,
            days_least=None,
            days_most=None,
            season="",
            taxon_agreement="unknown",
            agreement_rank="",
            movement_term=basis.none_term,
            season_term=self.settings.season_unknown,
            taxon_term=self.settings.taxon_unknown,
            likelihood=basis.none(self.settings),
            share=share,
            reason=wording.of_none(
                name=kind.name,
                share=share,
                sites_named=sites_named,
                left_out=left_out,
                nearest=nearest,
                kernel=basis.kernel,
                settings=self.settings,
            ),
            kernel=basis.kernel.name,
        )


def _days(event_date: str) -> tuple[int, int]:
    """First and last proleptic day of an event, 0 and 0 where it has no usable date."""
    try:
        first, last = parse_event_days(event_date)
    except ValueError:
        return 0, 0
    return first.toordinal(), last.toordinal()
