"""Sightings, sites, visits, lots and the checklist in; matches with their shares out."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice

import numpy as np
from numpy.typing import NDArray

from triage.checklist import Checklist
from triage.exuviae import ExuviaeLot, Site, Visit
from triage.matching import wording
from triage.matching.behaviour import is_teneral
from triage.matching.breeding import (
    SEASONS,
    SiteExuviae,
    TaxonAtSites,
    fit_season,
    season_terms,
    window_for,
)
from triage.matching.movement import (
    kernel_for,
    movement_term,
    none_term,
    reach,
)
from triage.matching.places import SitePlaces
from triage.matching.records import Match
from triage.matching.settings import Kernel, MatchingSettings, Window
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


@dataclass(frozen=True, slots=True)
class _Basis:
    """What is worked out once for a kind of sighting."""

    kernel: Kernel
    window: Window
    at_sites: TaxonAtSites
    none_term: float
    reach: float


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
        self.season_terms = season_terms(settings)
        self._bases: dict[_Kind, _Basis] = {}

    def match(self, chunk: Sequence[Sighting]) -> Iterator[Match]:
        """Matches of some sightings, in their order."""
        groups: dict[_Kind, list[int]] = defaultdict(list)
        for index, sighting in enumerate(chunk):
            if has_usable_place(sighting):
                groups[self._kind(sighting)].append(index)
        rows: dict[int, list[Match]] = {}
        for kind, members in groups.items():
            for index, matches in self._match_kind(kind, [chunk[member] for member in members]):
                rows[members[index]] = matches
        for index in sorted(rows):
            yield from rows[index]

    def _kind(self, sighting: Sighting) -> _Kind:
        name, rank = sighting.scientific_name, sighting.taxon_rank
        taxon = self.checklist.resolve(name) if name else None
        if taxon is not None:
            name, rank = taxon.scientific_name, rank or taxon.rank
        if sighting.qualifier and rank in ("species", "subspecies"):
            rank = "genus"  # cf. and aff. leave the species open
        suborder = "" if name else sighting.suborder.strip().casefold()
        return _Kind(name, rank, suborder, is_teneral(sighting))

    def _basis(self, kind: _Kind) -> _Basis:
        if kind not in self._bases:
            lineage = self.checklist.lineage(kind.name)
            kernel = kernel_for(
                lineage, kind.suborder, teneral=kind.teneral, kernels=self.settings.kernels
            )
            self._bases[kind] = _Basis(
                kernel=kernel,
                window=window_for(lineage, teneral=kind.teneral, windows=self.settings.windows),
                at_sites=self.exuviae.of_taxon(kind.name, kind.rank, kind.suborder),
                none_term=none_term(kernel, self.settings) if kernel.infers else 1.0,
                reach=reach(kernel, self.settings),
            )
        return self._bases[kind]

    def _match_kind(
        self, kind: _Kind, members: Sequence[Sighting]
    ) -> Iterator[tuple[int, list[Match]]]:
        settings, basis = self.settings, self._basis(kind)
        latitude = np.array([sighting.decimal_latitude for sighting in members], dtype=np.float64)
        longitude = np.array([sighting.decimal_longitude for sighting in members], dtype=np.float64)
        radius = np.array([self._radius(sighting) for sighting in members])
        days = np.array([_days(sighting.event_date) for sighting in members], dtype=np.int64)
        none = basis.none_term * settings.season_unknown * settings.taxon_unknown
        if not basis.kernel.infers:
            for index, sighting in enumerate(members):
                yield index, [self._none(sighting, kind, basis, none, 1.0, 0, 0)]
            return
        pairs = self.places.pairs_within(latitude, longitude, radius, basis.reach)
        who, site = pairs.sighting, pairs.site
        movement = movement_term(
            basis.kernel,
            pairs.distance,
            radius[who],
            self.places.uncertainty[site],
            scale=settings.movement_scale,
        )
        season = fit_season(
            basis.at_sites,
            site,
            days[who, 0],
            days[who, 1],
            basis.window,
            settings.exuviae_last_days,
        )
        season_term = self.season_terms[season.code]
        taxon_term = basis.at_sites.term[site]
        likelihood = movement * season_term * taxon_term
        kept, share, none_share, left_out = _shares(
            who, site, likelihood, none, len(members), settings
        )
        by_sighting: dict[int, list[Match]] = defaultdict(list)
        for pair in kept.tolist():
            index, at = int(who[pair]), int(site[pair])
            metres = float(pairs.distance[pair])
            around = float(radius[index] + self.places.uncertainty[at])
            known = bool(season.days_known[pair])
            span = (int(season.days_least[pair]), int(season.days_most[pair])) if known else None
            by_sighting[index].append(
                self._site_row(
                    members[index],
                    kind,
                    basis,
                    at,
                    (metres, max(0.0, metres - around), metres + around),
                    SEASONS[season.code[pair]],
                    span,
                    (float(movement[pair]), float(season_term[pair]), float(taxon_term[pair])),
                    float(likelihood[pair]),
                    float(share[pair]),
                )
            )
        for index, sighting in enumerate(members):
            rows = by_sighting[index]
            rows.append(
                self._none(
                    sighting,
                    kind,
                    basis,
                    none,
                    float(none_share[index]),
                    len(rows),
                    int(left_out[index]),
                )
            )
            yield index, rows

    def _radius(self, sighting: Sighting) -> float:
        radius = sighting.coordinate_uncertainty_in_meters
        if radius is None or not 0 < radius < math.inf:
            return self.settings.missing_uncertainty_in_meters
        return radius

    def _site_row(
        self,
        sighting: Sighting,
        kind: _Kind,
        basis: _Basis,
        at: int,
        distances: tuple[float, float, float],
        season: str,
        span: tuple[int, int] | None,
        terms: tuple[float, float, float],
        likelihood: float,
        share: float,
    ) -> Match:
        of_taxon = basis.at_sites
        reason = wording.of_site(
            self.sites[at],
            name=kind.name,
            distance=distances[0],
            least=distances[1],
            most=distances[2],
            season=season,
            days=span,
            agreement=of_taxon.agreement[at],
            rank=of_taxon.rank[at],
            evidence=of_taxon.evidence[at],
            count=of_taxon.count[at],
            years=of_taxon.years[at],
            share=share,
        )
        return Match(
            sighting=sighting.identifier,
            location_id=self.sites[at].location_id,
            distance=distances[0],
            distance_least=distances[1],
            distance_most=distances[2],
            days_least=span[0] if span else None,
            days_most=span[1] if span else None,
            season=season,
            taxon_agreement=of_taxon.agreement[at],
            agreement_rank=of_taxon.rank[at],
            movement_term=terms[0],
            season_term=terms[1],
            taxon_term=terms[2],
            likelihood=likelihood,
            share=share,
            reason=reason,
            breeding_evidence=of_taxon.evidence[at],
            exuviae_count=of_taxon.count[at],
            exuviae_years=of_taxon.years[at],
            kernel=basis.kernel.name,
        )

    def _none(
        self,
        sighting: Sighting,
        kind: _Kind,
        basis: _Basis,
        likelihood: float,
        share: float,
        sites_named: int,
        left_out: int,
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
            likelihood=likelihood,
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


def has_usable_place(sighting: Sighting) -> bool:
    """Whether the sighting has coordinates that lie on the earth."""
    latitude, longitude = sighting.decimal_latitude, sighting.decimal_longitude
    return (
        latitude is not None
        and longitude is not None
        and abs(latitude) <= 90
        and abs(longitude) <= 360
    )


def _days(event_date: str) -> tuple[int, int]:
    """First and last proleptic day of an event, 0 and 0 where it has no usable date."""
    try:
        first, last = parse_event_days(event_date)
    except ValueError:
        return 0, 0
    return first.toordinal(), last.toordinal()


def _shares(
    who: NDArray[np.intp],
    site: NDArray[np.intp],
    likelihood: NDArray[np.float64],
    none: float,
    count: int,
    settings: MatchingSettings,
) -> tuple[NDArray[np.intp], NDArray[np.float64], NDArray[np.float64], NDArray[np.intp]]:
    """Pairs to keep, likeliest first within a sighting; all shares; those of none; how many left.

    The sites left out are each below ``least_share`` or beyond ``most_sites``; the shares are
    those among the rows kept.
    """
    everything = np.bincount(who, weights=likelihood, minlength=count) + none
    order = np.lexsort((site, -likelihood, who))
    begins = np.r_[True, np.diff(who[order]) != 0][: len(order)]
    place = np.arange(len(order)) - np.maximum.accumulate(
        np.where(begins, np.arange(len(order)), 0)
    )
    enough = likelihood[order] >= settings.least_share * everything[who[order]]
    kept = order[(place == 0) | (enough & (place < settings.most_sites))]
    total = np.bincount(who[kept], weights=likelihood[kept], minlength=count) + none
    share = np.zeros(len(likelihood))
    share[kept] = likelihood[kept] / total[who[kept]]
    left_out = np.bincount(who, minlength=count) - np.bincount(who[kept], minlength=count)
    return kept, share, np.asarray(none / total, dtype=np.float64), left_out
