"""Test whether adults and exuviae lie nearer to each other than chance has it."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

MEAN_RADIUS = 6_371_008.8  # metres, IUGG; haversine is within 0.6 % of the geodesic


@dataclass(frozen=True, slots=True, kw_only=True)
class PermutationTest:
    """An observed statistic against relabelled ones. ``p`` is (b + 1) / (B + 1)."""

    observed: float
    expected: float
    p: float
    permutations: int
    seed: int
    units: int


def nearness_test(
    adults: Sequence[tuple[str, float, float, str]],
    sites: Sequence[tuple[float, float, str]],
    *,
    seed: int,
    permutations: int = 999,
) -> PermutationTest:
    """Are adults nearer to exuviae sites of their own taxon than chance, given where people went?

    Parameters
    ----------
    adults : sequence of (water, latitude, longitude, taxon)
        ``water`` names what is permuted as a whole: all outings to one water see the same taxa, so
        exchanging single outings would reject in 16 to 30 % of cases at 5 %.
    sites : sequence of (latitude, longitude, taxon)
        Each taxon found as exuviae at each site.
    seed : int
        Recorded in the result.
    permutations : int
        How often whole waters exchange their lists of taxa.

    Returns
    -------
    PermutationTest
        Observed and expected are mean distances in metres from an adult to the nearest site of
        its taxon; a small p says that adults keep near. All NaN when no adult has a site of its
        taxon, or there are fewer than two waters.

    Notes
    -----
    Only adults whose taxon has a site count. Distances by haversine: enough for means.

    References
    ----------
    Phipson, B. & Smyth, G. K. (2010) Permutation P-values should never be zero. Stat. Appl.
    Genet. Mol. Biol. 9: 39. doi 10.2202/1544-6115.1585
    """
    taxa = sorted({taxon for _, _, taxon in sites})
    kept = [a for a in adults if a[3] in set(taxa)]
    waters = sorted({a[0] for a in kept})
    if len(waters) < 2:
        nothing = math.nan
        return PermutationTest(
            observed=nothing, expected=nothing, p=nothing, permutations=0, seed=seed,
            units=len(waters),
        )  # fmt: skip
    mean_of = _mean_distance(kept, waters, sites, taxa)
    random = np.random.default_rng(seed)
    observed = mean_of(np.arange(len(waters)))
    drawn = np.array([mean_of(random.permutation(len(waters))) for _ in range(permutations)])
    # A relabelling that gives the same mean must count as extreme in spite of rounding.
    beyond = int((drawn <= observed + 1e-9 * max(observed, 1.0)).sum())
    return PermutationTest(
        observed=observed,
        expected=float(drawn.mean()),
        p=(beyond + 1) / (permutations + 1),
        permutations=permutations,
        seed=seed,
        units=len(waters),
    )


def _mean_distance(
    kept: Sequence[tuple[str, float, float, str]],
    waters: Sequence[str],
    sites: Sequence[tuple[float, float, str]],
    taxa: Sequence[str],
) -> Callable[[NDArray[np.int64]], float]:
    """Mean distance of the adults when their waters stand in another order."""
    row = {water: number for number, water in enumerate(waters)}
    column = {taxon: number for number, taxon in enumerate(taxa)}
    water_of = np.array([row[adult[0]] for adult in kept])
    taxon_of = np.array([column[adult[3]] for adult in kept])
    centre = _centres(np.array([[adult[1], adult[2]] for adult in kept]), water_of)
    nearest = _nearest_by_taxon(centre, sites, taxa)

    def mean_of(order: NDArray[np.int64]) -> float:
        # order[place] is the water whose taxa are put there.
        return float(nearest[np.argsort(order)[water_of], taxon_of].mean())

    return mean_of


def _centres(places: NDArray[np.float64], group: NDArray[np.intp]) -> NDArray[np.float64]:
    """Mean latitude and longitude of each group; longitudes as directions, which know no border."""
    count = np.bincount(group)
    latitude = np.bincount(group, weights=places[:, 0]) / count
    turn = np.radians(places[:, 1])
    east, north = (np.bincount(group, weights=part) for part in (np.cos(turn), np.sin(turn)))
    return np.column_stack([latitude, np.degrees(np.arctan2(north, east))])


def _nearest_by_taxon(
    places: NDArray[np.float64], sites: Sequence[tuple[float, float, str]], taxa: Sequence[str]
) -> NDArray[np.float64]:
    nearest = np.full((len(places), len(taxa)), np.inf)
    for latitude, longitude, taxon in sites:
        column = taxa.index(taxon)
        distance = _haversine(places[:, 0], places[:, 1], latitude, longitude)
        nearest[:, column] = np.minimum(nearest[:, column], distance)
    return nearest


def _haversine(
    latitude: NDArray[np.float64], longitude: NDArray[np.float64], to_lat: float, to_lon: float
) -> NDArray[np.float64]:
    a, b = np.radians(latitude), math.radians(to_lat)
    turn = np.radians(longitude - to_lon)
    h = np.sin((a - b) / 2) ** 2 + np.cos(a) * math.cos(b) * np.sin(turn / 2) ** 2
    return np.asarray(2 * MEAN_RADIUS * np.arcsin(np.sqrt(h)))
