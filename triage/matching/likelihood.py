"""Places and dates of sightings of one kind in, likelihood and share of each site in reach out."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from triage.matching.breeding import TaxonAtSites, fit_season, season_terms
from triage.matching.movement import movement_term
from triage.matching.places import Pairs, SitePlaces
from triage.matching.settings import Kernel, MatchingSettings, Window


@dataclass(frozen=True, slots=True)
class Basis:
    """What is worked out once for all sightings of a kind: same taxon, rank and age."""

    kernel: Kernel
    window: Window
    at_sites: TaxonAtSites
    none_term: float
    reach: float

    def none(self, settings: MatchingSettings) -> float:
        """Likelihood of "none of the known sites": an unknown site is one never searched."""
        return self.none_term * settings.season_unknown * settings.taxon_unknown


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
    """The pairs worth a row, the likeliest first within each sighting; arrays run along them.

    ``season`` is an index of SEASONS. Along the sightings run ``none_share``, ``left_out`` (how
    many sites in reach earned no row), and the share that these would have had at most, together.
    """

    sighting: NDArray[np.intp]
    site: NDArray[np.intp]
    distance: NDArray[np.float64]
    season: NDArray[np.intp]
    days_least: NDArray[np.int64]
    days_most: NDArray[np.int64]
    days_known: NDArray[np.bool_]
    movement_term: NDArray[np.float64]
    season_term: NDArray[np.float64]
    taxon_term: NDArray[np.float64]
    likelihood: NDArray[np.float64]
    share: NDArray[np.float64]
    none_share: NDArray[np.float64]
    left_out: NDArray[np.intp]
    left_out_share: NDArray[np.float64]


def weigh(
    where: SightingPlaces, places: SitePlaces, basis: Basis, settings: MatchingSettings
) -> Weighed:
    """Likelihood = movement x season x taxon for the sites in reach, and the shares of each."""
    count = len(where.latitude)
    none = basis.none(settings)
    within = places.pairs_within(where.latitude, where.longitude, where.radius, basis.reach)
    movement = movement_term(
        basis.kernel,
        within.distance,
        where.radius[within.sighting],
        places.uncertainty[within.site],
        scale=settings.movement_scale,
    )
    most = movement * basis.at_sites.term[within.site] * season_terms(settings).max()
    may_earn = _may_earn_a_row(within, most, none, count, settings)
    promising = np.flatnonzero(may_earn)
    who, site = within.sighting[promising], within.site[promising]
    season = fit_season(
        basis.at_sites,
        site,
        where.first_day[who],
        where.last_day[who],
        basis.window,
        settings.exuviae_last_days,
    )
    season_term = season_terms(settings)[season.code]
    taxon_term = basis.at_sites.term[site]
    likelihood = movement[promising] * season_term * taxon_term
    kept = _worth_a_row(who, site, likelihood, none, count, settings)
    total = np.bincount(who[kept], weights=likelihood[kept], minlength=count) + none
    rest = np.bincount(who, weights=likelihood, minlength=count) + none - total
    rest += np.bincount(within.sighting, weights=np.where(may_earn, 0.0, most), minlength=count)
    rest = np.maximum(rest, 0.0)
    in_reach = np.bincount(within.sighting, minlength=count)
    return Weighed(
        sighting=who[kept],
        site=site[kept],
        distance=within.distance[promising][kept],
        season=season.code[kept],
        days_least=season.days_least[kept],
        days_most=season.days_most[kept],
        days_known=season.days_known[kept],
        movement_term=movement[promising][kept],
        season_term=season_term[kept],
        taxon_term=taxon_term[kept],
        likelihood=likelihood[kept],
        share=likelihood[kept] / total[who[kept]],
        none_share=np.asarray(none / total, dtype=np.float64),
        left_out=in_reach - np.bincount(who[kept], minlength=count),
        left_out_share=np.asarray(rest / (total + rest), dtype=np.float64),
    )


def _may_earn_a_row(
    within: Pairs,
    most: NDArray[np.float64],
    none: float,
    count: int,
    settings: MatchingSettings,
) -> NDArray[np.bool_]:
    """Pairs that may earn a row whatever the season says; most distant ones can't.

    The season is the costly term. ``most`` is each likelihood with the greatest season term; with
    the least one it bounds the likeliest pair of a sighting from below.
    """
    terms = season_terms(settings)
    least_of_likeliest = np.zeros(count)
    np.maximum.at(least_of_likeliest, within.sighting, most * terms.min() / terms.max())
    likeliest = least_of_likeliest[within.sighting]
    enough = most >= settings.least_share * (likeliest + none)
    return np.asarray(enough | (most >= likeliest))


def _worth_a_row(
    who: NDArray[np.intp],
    site: NDArray[np.intp],
    likelihood: NDArray[np.float64],
    none: float,
    count: int,
    settings: MatchingSettings,
) -> NDArray[np.intp]:
    """Pairs with ``least_share``, at most ``most_sites`` a sighting, and always the likeliest."""
    everything = np.bincount(who, weights=likelihood, minlength=count) + none
    order = np.lexsort((site, -likelihood, who))
    positions = np.arange(len(order))
    begins = np.r_[True, np.diff(who[order]) != 0][: len(order)]
    place = positions - np.maximum.accumulate(np.where(begins, positions, 0))
    enough = likelihood[order] >= settings.least_share * everything[who[order]]
    worth = (place == 0) | (enough & (place < settings.most_sites))
    return np.asarray(order[worth], dtype=np.intp)
