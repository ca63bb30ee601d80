"""Weigh each site in reach of sightings of one kind, as likelihood and share.

The weight of water i for an adult seen at x is E[N_i] k(x | i): the expected emergence there times
the movement density over its shore, blurred by the uncertainty of x. Unknown waters have together
the density of waters times psi, whatever the kernel, since its integral is 1. docs/matching.md.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from triage.analysis import geodesy
from triage.matching.breeding import TaxonAtSites
from triage.matching.movement import density
from triage.matching.places import Pairs, SitePlaces
from triage.matching.settings import Kernel, MatchingSettings, Window

PER_SQUARE_KILOMETRE = 1e6
BLOCK = 500_000  # points of shores weighed at a time: about 50 MB
SCALES = (1.0, 0.5, 2.0)  # of the kernel: as stated, half as far, twice as far
UNKNOWN_FACTORS = (0.2, 1.0, 5.0)  # of the density of unknown waters


@dataclass(frozen=True, slots=True)
class Spread:
    """The taxa of one kernel together: expected emergence at each site, and per unknown water."""

    kernel: Kernel
    emergence: NDArray[np.float64]
    unknown: float


@dataclass(frozen=True, slots=True)
class Basis:
    """What is worked out once for all sightings of a kind: same taxa that they may be, and age.

    ``presence``, ``abundance`` and ``passes`` run along the sites; over several taxa they are
    means. ``kernel`` names the kernel of the sighting's own name.
    """

    kernel: Kernel
    window: Window
    at_sites: TaxonAtSites
    spreads: tuple[Spread, ...]
    presence: NDArray[np.float64]
    abundance: NDArray[np.float64]
    passes: NDArray[np.int64]
    anywhere: float
    reach: float

    def none(self, settings: MatchingSettings) -> float:
        """Density per square kilometre of animals from unknown waters: D psi m."""
        return settings.unknown_sites_per_square_kilometre * sum(
            spread.unknown for spread in self.spreads
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class SightingPlaces:
    """Where and when sightings were: degrees, radius in metres, proleptic days (0 unknown)."""

    latitude: NDArray[np.float64]
    longitude: NDArray[np.float64]
    radius: NDArray[np.float64]
    first_day: NDArray[np.int64]
    last_day: NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighed:
    """The pairs worth a row, the likeliest first within each sighting.

    ``likelihood`` has a column for each of SCALES. ``share`` has the stated one, the least and
    the greatest; so has ``none_share``, along the sightings, with ``left_out`` (how many sites in
    reach earned no row) and the share that these would have had at most, together.
    """

    sighting: NDArray[np.intp]
    site: NDArray[np.intp]
    distance: NDArray[np.float64]
    likelihood: NDArray[np.float64]
    share: NDArray[np.float64]
    none_share: NDArray[np.float64]
    left_out: NDArray[np.intp]
    left_out_share: NDArray[np.float64]


def weigh(
    where: SightingPlaces, places: SitePlaces, basis: Basis, settings: MatchingSettings
) -> Weighed:
    """Likelihood of the sites in reach at each scale, and the share of each with its range."""
    count = len(where.latitude)
    none = basis.none(settings)
    within = places.pairs_within(where.latitude, where.longitude, where.radius, basis.reach)
    likelihood = np.zeros((len(within.sighting), len(SCALES)))
    for block in _blocks(within, places):
        reached = _Reached.of(within, block, where, places)
        for spread in basis.spreads:
            weight = spread.emergence[within.site[block]] * PER_SQUARE_KILOMETRE
            for column, scale in enumerate(SCALES):
                moved = reached.movement(spread.kernel, scale=scale * settings.movement_scale)
                likelihood[block, column] += weight * moved
    kept = _worth_a_row(within, likelihood, none, count, settings)
    who, chosen = within.sighting[kept], likelihood[kept]
    share, none_share = _shares(who, chosen, none, count)
    total = np.bincount(who, weights=chosen[:, 0], minlength=count) + none
    everything = np.bincount(within.sighting, weights=likelihood[:, 0], minlength=count) + none
    in_reach = np.bincount(within.sighting, minlength=count)
    return Weighed(
        sighting=who,
        site=within.site[kept],
        distance=within.distance[kept],
        likelihood=chosen,
        share=share,
        none_share=none_share,
        left_out=in_reach - np.bincount(who, minlength=count),
        left_out_share=np.maximum(everything - total, 0.0) / everything,
    )


def _points(within: Pairs, places: SitePlaces) -> NDArray[np.intp]:
    """How many points of its shore stand for the water of each pair."""
    count = np.ones(len(places), dtype=np.intp)
    for site in np.unique(within.site).tolist():
        if site in places.shapes:
            count[site] = len(places.shore(site)[0])
    return count[within.site]


def _blocks(within: Pairs, places: SitePlaces) -> list[NDArray[np.intp]]:
    """The pairs in blocks of about BLOCK points, which bounds the memory."""
    if not len(within.site):
        return []
    number = np.cumsum(_points(within, places)) // BLOCK
    return np.split(np.arange(len(number)), np.flatnonzero(np.diff(number)) + 1)


@dataclass(frozen=True, slots=True)
class _Reached:
    """Pairs of sightings and waters, each with the points of the shore that it is seen from.

    A point with a radius is one point, a round water of that radius; a polygon or line has points
    all along its own shore. Arrays run along the points, ``pair`` says whose they are.
    """

    pair: NDArray[np.intp]
    away: NDArray[np.float64]
    radius: NDArray[np.float64]
    shore: NDArray[np.float64]
    points: NDArray[np.intp]  # of each pair

    @classmethod
    def of(
        cls, within: Pairs, block: NDArray[np.intp], where: SightingPlaces, places: SitePlaces
    ) -> _Reached:
        who, site = within.sighting[block], within.site[block]
        points = _points(replace(within, site=site), places)
        pair = np.repeat(np.arange(len(block)), points)
        away, shore = within.distance[block][pair], places.uncertainty[site[pair]]
        shaped = np.isin(site, list(places.shapes))
        if shaped.any():
            shores = [places.shore(one) for one in site[shaped].tolist()]
            rows = np.flatnonzero(shaped[pair])
            seen = who[pair[rows]]
            here = geodesy.geocentric(where.latitude[seen], where.longitude[seen])
            there = np.concatenate([along for along, _ in shores])
            away[rows] = np.linalg.norm(here - there, axis=-1)
            shore[rows] = np.repeat([blur for _, blur in shores], points[shaped])
        return cls(pair, away, where.radius[who[pair]], shore, points)

    def movement(self, kernel: Kernel, *, scale: float) -> NDArray[np.float64]:
        """Movement density of each pair, per square metre, the mean over the whole shore."""
        found = density(kernel, self.away, self.radius, self.shore, scale=scale)
        total = np.bincount(self.pair, weights=found, minlength=len(self.points))
        return np.asarray(total / self.points)


def _shares(
    who: NDArray[np.intp], likelihood: NDArray[np.float64], none: float, count: int
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Stated, least and greatest share of each pair, and of none, over all scales and factors."""
    shares, of_none = [], []
    for column in range(len(SCALES)):
        known = np.bincount(who, weights=likelihood[:, column], minlength=count)
        for factor in UNKNOWN_FACTORS:
            total = known + none * factor
            shares.append(likelihood[:, column] / total[who])
            of_none.append(none * factor / total)
    stated = UNKNOWN_FACTORS.index(1.0)
    return tuple(
        np.stack([every[stated], every.min(axis=0), every.max(axis=0)], axis=-1)
        for every in (np.stack(shares), np.stack(of_none))
    )  # type: ignore[return-value]


def _worth_a_row(
    within: Pairs,
    likelihood: NDArray[np.float64],
    none: float,
    count: int,
    settings: MatchingSettings,
) -> NDArray[np.intp]:
    """Pairs that earn ``least_share`` at any scale, ``most_sites`` a sighting; the likeliest too.

    In the order of sighting, likelihood and site.
    """
    who = within.sighting
    share = np.zeros(len(who))
    for column in range(len(SCALES)):
        known = np.bincount(who, weights=likelihood[:, column], minlength=count)
        share = np.maximum(share, likelihood[:, column] / (known + none)[who])
    order = np.lexsort((within.site, -likelihood[:, 0], who))
    begins = np.r_[True, np.diff(who[order]) != 0][: len(order)]
    positions = np.arange(len(order))
    place = positions - np.maximum.accumulate(np.where(begins, positions, 0))
    enough = share[order] >= settings.least_share
    return np.asarray(order[(place == 0) | (enough & (place < settings.most_sites))], dtype=np.intp)
