"""Match sightings with sites and give each match its share."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice

import numpy as np
from numpy.typing import NDArray

from triage.checklist import Checklist
from triage.exuviae import ExuviaeLot, Site, Visit
from triage.matching import wording
from triage.matching.behaviour import is_teneral
from triage.matching.breeding import SEASONS, SeasonFit, SiteExuviae, fit_season, window_for
from triage.matching.effort import Effort
from triage.matching.likelihood import SCALES, Basis, SightingPlaces, Spread, Weighed, weigh
from triage.matching.movement import kernel_for, reach
from triage.matching.places import SitePlaces
from triage.matching.presence import Waters
from triage.matching.records import Match
from triage.matching.settings import Kernel, MatchingSettings
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
    taxa: tuple[str, ...]


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

    A sighting with coordinates gives one row for each site within reach that earns ``least_share``
    at the stated scale of movement, at half or at twice it, at most ``most_sites`` of them and at
    least the likeliest, and one row for
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
        self.effort = Effort(
            visits,
            lots,
            checklist,
            stated_detection=settings.detection_per_pass,
            skins_last_days=settings.exuviae_last_days,
        )
        self.waters = Waters(self.sites, self.effort)
        self.exuviae = SiteExuviae(self.waters.position, self.effort.lots, checklist)
        self._bases: dict[_Kind, Basis] = {}
        self._named: dict[tuple[str, ...], tuple[str, str, str, tuple[str, ...]]] = {}
        self._flying: dict[tuple[tuple[str, ...], str], tuple[str, ...]] = {}

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
        written = sighting.scientific_name, sighting.taxon_rank, sighting.doubt
        key = *written, sighting.suborder
        if key not in self._named:
            name, rank = self.checklist.without_doubt(*written[:2])
            rank = self.checklist.without_doubt(*written)[1] if sighting.doubt else rank
            known = "suborder" in self.checklist.lineage(name)
            suborder = "" if known else sighting.suborder.strip().casefold()
            self._named[key] = name, rank, suborder, self.effort.candidates.of(*written, suborder)
        name, rank, suborder, may_be = self._named[key]
        taxa = self._in_season(may_be, sighting.event_date)
        return _Kind(name, rank, suborder, is_teneral(sighting), taxa)

    def _in_season(self, taxa: tuple[str, ...], event_date: str) -> tuple[str, ...]:
        """Of several taxa those that fly on the day; all of them if none does."""
        if len(taxa) < 2:
            return taxa
        key = (taxa, event_date[:10])
        if key not in self._flying:
            resolved = ((name, self.checklist.resolve(name)) for name in taxa)
            flying = tuple(
                name
                for name, taxon in resolved
                if taxon is None or self.checklist.in_season(taxon, event_date) is not False
            )
            self._flying[key] = flying or taxa
        return self._flying[key]

    def _basis(self, kind: _Kind) -> Basis:
        if kind not in self._bases:
            lineage = self.checklist.lineage(kind.name)
            passes = self.effort.passes_by_site(kind.taxa, self.sites)
            presences = [self.waters.of(taxon) for taxon in kind.taxa or ("",)]
            emergence = np.stack([one.probability * one.abundance for one in presences])
            presence = np.mean([one.probability for one in presences], axis=0)
            spreads = self._spreads(kind, emergence, [one.anywhere for one in presences])
            self._bases[kind] = Basis(
                kernel=self._kernel(lineage, kind),
                window=window_for(lineage, teneral=kind.teneral, windows=self.settings.windows),
                at_sites=self.exuviae.of_taxon(kind.name, kind.rank, kind.suborder, passes),
                spreads=spreads,
                presence=presence,
                abundance=emergence.mean(axis=0) / np.maximum(presence, 1e-300),
                passes=passes,
                anywhere=float(np.mean([one.anywhere for one in presences])),
                reach=self._reach(spreads),
            )
        return self._bases[kind]

    def _kernel(self, lineage: dict[str, str], kind: _Kind) -> Kernel:
        return kernel_for(
            lineage, kind.suborder, teneral=kind.teneral, kernels=self.settings.kernels
        )

    def _spreads(
        self, kind: _Kind, emergence: NDArray[np.float64], anywhere: list[float]
    ) -> tuple[Spread, ...]:
        """The taxa by kernel, as means over all; migrants are left out beside others."""
        by_kernel: dict[str, tuple[Kernel, list[int]]] = {}
        for index, taxon in enumerate(kind.taxa or ("",)):
            kernel = self._kernel(self.checklist.lineage(taxon), kind)
            by_kernel.setdefault(kernel.name, (kernel, []))[1].append(index)
        return tuple(
            Spread(
                kernel=kernel,
                emergence=emergence[members].sum(axis=0) / len(emergence),
                unknown=sum(anywhere[member] for member in members) / len(emergence),
            )
            for kernel, members in by_kernel.values()
            if kernel.infers
        )

    def _reach(self, spreads: tuple[Spread, ...]) -> float:
        weights = [(one.kernel, float(one.emergence.max(initial=0.0))) for one in spreads]
        unknown = self.settings.unknown_sites_per_square_kilometre / 1e6
        return reach(
            weights,
            unknown * sum(one.unknown for one in spreads),
            self.settings.least_share,
            scale=self.settings.movement_scale * max(SCALES),
        )

    def _match_kind(self, kind: _Kind, members: Sequence[Sighting]) -> list[list[Match]]:
        basis = self._basis(kind)
        if not basis.spreads:
            return [[self._none_row(member, kind, basis, (1.0, 1.0, 1.0))] for member in members]
        where = self._places_of(members)
        weighed = weigh(where, self.places, basis, self.settings)
        season = fit_season(
            basis.at_sites,
            weighed.site,
            where.first_day[weighed.sighting],
            where.last_day[weighed.sighting],
            basis.window,
            self.settings.exuviae_last_days,
        )
        rows: list[list[Match]] = [[] for _ in members]
        for pair, index in enumerate(weighed.sighting.tolist()):
            radius = float(where.radius[index])
            row = self._site_row(members[index], basis, weighed, season, pair, radius)
            site = self.sites[int(weighed.site[pair])]
            rows[index].append(replace(row, reason=wording.of_site(site, row, kind.name)))
        for index, member in enumerate(members):
            shares = tuple(float(share) for share in weighed.none_share[index])
            left_out = int(weighed.left_out[index]), float(weighed.left_out_share[index])
            rows[index].append(
                self._none_row(member, kind, basis, shares, len(rows[index]), left_out)
            )
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
        basis: Basis,
        weighed: Weighed,
        season: SeasonFit,
        pair: int,
        radius: float,
    ) -> Match:
        of_taxon, at = basis.at_sites, int(weighed.site[pair])
        distance = float(weighed.distance[pair])
        around = radius + float(self.places.uncertainty[at])
        dated = bool(season.days_known[pair])
        stated, near, far = (float(value) for value in weighed.likelihood[pair])
        share, low, high = (float(value) for value in weighed.share[pair])
        emergence = float(basis.presence[at] * basis.abundance[at])
        return Match(
            sighting=sighting.identifier,
            location_id=self.sites[at].location_id,
            distance=distance,
            distance_least=max(0.0, distance - around),
            distance_most=distance + around,
            days_least=int(season.days_least[pair]) if dated else None,
            days_most=int(season.days_most[pair]) if dated else None,
            season=SEASONS[season.code[pair]],
            taxon_agreement=of_taxon.agreement[at],
            agreement_rank=of_taxon.rank[at],
            movement_density=stated / emergence if emergence else 0.0,
            presence=float(basis.presence[at]),
            abundance=float(basis.abundance[at]),
            likelihood=stated,
            likelihood_near=near,
            likelihood_far=far,
            share=share,
            share_low=low,
            share_high=high,
            reason="",
            passes=int(basis.passes[at]),
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
        shares: Sequence[float],
        sites_named: int = 0,
        left_out: tuple[int, float] = (0, 0.0),
    ) -> Match:
        nearest = None
        if not sites_named and basis.spreads:
            assert sighting.decimal_latitude is not None
            assert sighting.decimal_longitude is not None
            at = self.places.nearest(sighting.decimal_latitude, sighting.decimal_longitude)
            nearest = (self.sites[at[0]], at[1]) if at else None
        likelihood = basis.none(self.settings)
        row = Match(
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
            movement_density=self.settings.unknown_sites_per_square_kilometre,
            presence=basis.anywhere,
            abundance=1.0,
            likelihood=likelihood,
            likelihood_near=likelihood,
            likelihood_far=likelihood,
            share=shares[0],
            share_low=shares[1],
            share_high=shares[2],
            reason="",
            kernel=basis.kernel.name if basis.spreads else "migrant",
        )
        said = wording.of_none(row, kind.name, sites_named, left_out, nearest)
        return replace(row, reason=said)


def _days(event_date: str) -> tuple[int, int]:
    """First and last proleptic day of an event, 0 and 0 where it has no usable date."""
    try:
        first, last = parse_event_days(event_date)
    except ValueError:
        return 0, 0
    return first.toordinal(), last.toordinal()
