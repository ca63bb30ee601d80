"""Distances from places to sites of any shape, and the search for pairs within reach."""

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic

from triage.exuviae import Site
from triage.matching import MatchingSettings
from triage.matching.places import SitePlaces


def site(latitude: float, longitude: float, footprint: str = "", name: str = "A") -> Site:
    return Site(
        location_id=name,
        locality=name,
        decimal_latitude=latitude,
        decimal_longitude=longitude,
        coordinate_uncertainty_in_meters=30.0,
        footprint_wkt=footprint,
    )


def metres(places: SitePlaces, latitude: float, longitude: float) -> float:
    here = np.array([latitude]), np.array([longitude])
    return float(places.distances(*here, np.array([0], dtype=np.intp))[0])


@pytest.mark.parametrize(
    ("here", "there", "expected"),
    [
        # geographiclib test_geodesic.py (Karney 2013), and GeographicLib documentation
        ((35.60777, -139.44815), (-11.17491, -69.95921), 8935244.5604818305),
        ((-19.79938, -174.47484), (-11.99349, -154.35109), 2319004.8601169389),
        ((40.6, -73.8), (51.6, -0.5), 5551759.400),
    ],
)
def test_a_point_site_is_a_published_geodesic_away(here, there, expected):
    places = SitePlaces([site(*there)], MatchingSettings())
    assert metres(places, *here) == pytest.approx(expected, abs=0.001)


@pytest.mark.parametrize("metres_away", [0.01, 30.0, 2_000.0, 19_900.0, 20_100.0, 60_000.0])
def test_near_distances_are_geodesics_to_a_tenth_of_a_millimetre_everywhere(metres_away):
    """Independent: geographiclib (Karney 2013) lays out the points."""
    random = np.random.default_rng(11)
    for _ in range(200):
        latitude = float(np.degrees(np.arcsin(random.uniform(-1, 1))))
        longitude = float(random.uniform(-180, 180))
        azimuth = float(random.uniform(0, 360))
        end = Geodesic.WGS84.Direct(latitude, longitude, azimuth, metres_away)
        places = SitePlaces([site(end["lat2"], end["lon2"])], MatchingSettings())
        assert metres(places, latitude, longitude) == pytest.approx(metres_away, abs=1e-4)


@pytest.mark.parametrize("latitude", [0.0, 53.9, 80.0, 89.9])
def test_a_line_is_as_far_as_its_nearest_part(latitude):
    """Independent: geographiclib, the least over 20,001 points along the line."""
    line = site(latitude, 179.0, f"LINESTRING (179.00 {latitude}, 179.02 {latitude})")
    places = SitePlaces([line], MatchingSettings())
    here = (latitude + 0.003, 179.008)
    least = min(
        Geodesic.WGS84.Inverse(*here, latitude, 179.0 + 0.02 * part / 20_000)["s12"]
        for part in range(0, 20_001, 5)
    )
    assert metres(places, *here) == pytest.approx(least, abs=0.05)


def test_within_a_polygon_the_distance_is_zero_and_outside_it_is_to_the_edge():
    square = "POLYGON ((21.70 53.90, 21.71 53.90, 21.71 53.91, 21.70 53.91, 21.70 53.90))"
    places = SitePlaces([site(53.905, 21.705, square)], MatchingSettings())
    assert metres(places, 53.905, 21.705) == 0.0
    expected = Geodesic.WGS84.Inverse(53.915, 21.705, 53.91, 21.705)["s12"]
    assert metres(places, 53.915, 21.705) == pytest.approx(expected, abs=0.02)


def test_the_search_finds_what_looking_at_all_pairs_finds():
    random = np.random.default_rng(5)
    sites = [
        site(
            53.9 + north,
            21.7 + east,
            f"LINESTRING ({21.7 + east} {53.9 + north}, {21.72 + east} {53.9 + north})"
            if index % 3 == 0
            else "",
            f"S{index}",
        )
        for index, (north, east) in enumerate(random.uniform(-0.3, 0.3, (60, 2)).tolist())
    ]
    places = SitePlaces(sites, MatchingSettings())
    latitude = 53.9 + random.uniform(-0.3, 0.3, 200)
    longitude = 21.7 + random.uniform(-0.3, 0.3, 200)
    radius = random.choice([10.0, 500.0, 4000.0], 200)
    found = places.pairs_within(latitude, longitude, radius, 2500.0)
    who, which = (axis.ravel() for axis in np.indices((200, 60)))
    away = places.distances(latitude[who], longitude[who], which)
    near = away <= 2500.0 + radius[who] + places.uncertainty[which]
    expected = set(zip(who[near].tolist(), which[near].tolist(), strict=True))
    assert set(zip(found.sighting.tolist(), found.site.tolist(), strict=True)) == expected
    assert len(found.sighting) == len(expected) > 100


@pytest.mark.parametrize(
    ("here", "there"),
    [
        ((10.0, 179.999), (10.0, -179.999)),
        ((89.999, 0.0), (89.999, 180.0)),
        ((-90.0, 5.0), (-89.999, 80.0)),
    ],
)
def test_the_180th_meridian_and_the_poles_are_no_borders(here, there):
    places = SitePlaces([site(*there)], MatchingSettings())
    latitude, longitude = np.array([here[0]]), np.array([here[1]])
    found = places.pairs_within(latitude, longitude, np.array([10.0]), 1000.0)
    expected = Geodesic.WGS84.Inverse(*here, *there)["s12"]
    assert found.distance.tolist() == pytest.approx([expected], abs=0.001)


def test_no_sites_give_no_pairs():
    places = SitePlaces([], MatchingSettings())
    nothing = places.pairs_within(np.array([1.0]), np.array([1.0]), np.array([1.0]), 100.0)
    assert len(nothing.sighting) == 0
    assert places.nearest(1.0, 1.0) is None
