"""Distances against published geodesics, bounds and grids against their own laws."""

import math
from dataclasses import dataclass

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic
from hypothesis import given
from hypothesis import strategies as st

from triage.analysis import geodesy

latitudes = st.floats(-89.9, 89.9)
longitudes = st.floats(-180, 180)

# The first line is from the GeographicLib-python documentation (examples), the rest from the test
# set of geographiclib's test_geodesic.py (Karney): lat1, lon1, lat2, lon2, metres, azimuth.
PUBLISHED = [
    (-41.32, 174.81, 40.96, -5.50, 19959679.267, None),
    (35.60777, -139.44815, -11.17491, -69.95921, 8935244.5604818305, 111.098748429560326),
    (55.52454, 106.05087, 77.03196, 197.18234, 4105086.1713924406, 22.020059880982801),
    (-21.97856, 142.59065, 41.84138, 98.56635, 8394328.894657671, -32.44456876433189),
    (-66.99028, 112.2363, -12.70631, 285.90344, 11150344.2312080241, 173.73491240878403),
    (-17.42761, 173.34268, -15.84784, 5.93557, 16076603.1631180673, -159.033557661192928),
    (1.74708, 128.32011, -11.16617, 11.87109, 12942901.1241347408, -101.584843631173858),
    (-19.79938, -174.47484, -11.99349, -154.35109, 2319004.8601169389, 71.167275780171533),
]

# Computed once with geographiclib 2.1 (Geodesic.WGS84.Inverse), degrees and metres.
COMPUTED = [
    (40.6, -73.8, 51.6, -0.5, 5551759.400),
    (0, 0, 1, 0, 110574.389),
    (0, 0, 0, 1, 111319.491),
    (0, 179.5, 0, -179.5, 111319.491),
    (45, 0, 46, 0, 111141.548),
    (45, 0, 45, 1, 78846.335),
    (60, 0, 61, 0, 111420.728),
    (60, 0, 60, 1, 55799.470),
    (0, 0, 90, 0, 10001965.729),
    (0, 0, 0.5, 179.7, 19944127.421),
    (48.8566, 2.3522, 51.5074, -0.1278, 343923.120),
    (50, 10, 50.001, 10, 111.229),
    (50, 10, 50, 10.001, 71.696),
]


@pytest.mark.parametrize(("lat1", "lon1", "lat2", "lon2", "metres", "azimuth"), PUBLISHED)
def test_distances_agree_with_the_published_geodesics_to_a_millimetre(
    lat1, lon1, lat2, lon2, metres, azimuth
):
    assert geodesy.distance(lat1, lon1, lat2, lon2) == pytest.approx(metres, abs=1e-3)
    if azimuth is not None:
        to = geodesy.destination(lat1, lon1, azimuth_degrees=azimuth % 360, metres=metres)
        assert geodesy.distance(lat2, (lon2 + 180) % 360 - 180, *to) == pytest.approx(0, abs=1e-3)


@pytest.mark.parametrize(("lat1", "lon1", "lat2", "lon2", "metres"), COMPUTED)
def test_distances_agree_with_the_computed_cases_to_a_millimetre(lat1, lon1, lat2, lon2, metres):
    assert geodesy.distance(lat1, lon1, lat2, lon2) == pytest.approx(metres, abs=1e-3)


@given(latitudes, longitudes, latitudes, longitudes)
def test_distances_agree_with_an_independent_implementation(lat1, lon1, lat2, lon2):
    expected = Geodesic.WGS84.Inverse(lat1, lon1, lat2, lon2)["s12"]
    assert geodesy.distance(lat1, lon1, lat2, lon2) == pytest.approx(expected, abs=1e-6)


@given(latitudes, longitudes, latitudes, longitudes)
def test_a_distance_is_symmetric(lat1, lon1, lat2, lon2):
    there = geodesy.distance(lat1, lon1, lat2, lon2)
    back = geodesy.distance(lat2, lon2, lat1, lon1)
    assert there == pytest.approx(back, abs=1e-6)


@given(latitudes, longitudes, st.floats(0, 360), st.floats(1, 5_000_000))
def test_a_destination_lies_at_its_distance(lat, lon, azimuth, metres):
    to = geodesy.destination(lat, lon, azimuth_degrees=azimuth, metres=metres)
    assert geodesy.distance(lat, lon, *to) == pytest.approx(metres, abs=1e-6)


@dataclass(frozen=True)
class Spot:
    decimal_latitude: float | None
    decimal_longitude: float | None


def test_records_are_as_far_apart_as_their_points():
    north, south = Spot(53.9, 21.7), Spot(53.8, 21.6)
    assert geodesy.metres_between(north, south) == geodesy.distance(53.9, 21.7, 53.8, 21.6)
    assert geodesy.metres_between(north, north) == 0.0


@pytest.mark.parametrize("nowhere", [Spot(None, None), Spot(53.9, None), Spot(None, 21.7)])
def test_a_record_without_a_place_is_at_no_distance(nowhere: Spot):
    there = Spot(53.9, 21.7)
    assert geodesy.metres_between(there, nowhere) is None
    assert geodesy.metres_between(nowhere, there) is None


def test_all_pairs_broadcast_and_a_missing_coordinate_stays_missing():
    a = np.array([50.0, np.nan])
    found = geodesy.distances(a[:, None], 10.0, np.array([50.0, 50.001, 51.0])[None, :], 10.0)
    assert found.shape == (2, 3)
    assert found[0, 1] == pytest.approx(111.229, abs=1e-3)
    assert np.isnan(found[1]).all()


def test_no_points_give_no_distances():
    assert geodesy.distances([], [], [], []).shape == (0,)


def test_a_latitude_off_the_earth_is_refused():
    with pytest.raises(ValueError, match="outside -90 to 90"):
        geodesy.distance(91, 0, 0, 0)


@given(st.floats(0, 1e6), st.floats(0, 1e4), st.floats(0, 1e4))
def test_bounds_hold_the_distance_between_them(metres, radius, to_radius):
    least, most = geodesy.distance_bounds(metres, radius, to_radius)
    assert 0 <= least <= metres <= most
    assert geodesy.distance_bounds(metres, to_radius, radius) == pytest.approx((least, most))


def test_a_negative_radius_is_refused():
    with pytest.raises(ValueError, match="negative"):
        geodesy.distance_bounds(10.0, -1.0, 0.0)


@pytest.mark.parametrize("degrees", [(0, 1, 0.5, 0), (45, 1, 45.5, 0), (60, 1, 60.5, 0)])
def test_a_degree_of_latitude_has_its_geodesic_length(degrees):
    start, span, middle, lon = degrees
    along, _ = geodesy.metres_per_degree(middle)
    assert along == pytest.approx(geodesy.distance(start, lon, start + span, lon), abs=0.2)


@given(
    latitudes,
    longitudes,
    st.sampled_from([1.0, 0.1, 0.01, 0.001, 0.05]),
    st.floats(0, 1000),
)
def test_a_generalised_point_still_holds_the_true_place(lat, lon, precision, uncertainty):
    point = geodesy.generalise(
        lat, lon, uncertainty_metres=uncertainty, precision_degrees=precision
    )
    away = geodesy.distance(lat, lon, point.decimal_latitude, point.decimal_longitude)
    assert away + uncertainty <= point.coordinate_uncertainty_in_meters + 1e-6
    assert -180 <= point.decimal_longitude <= 180


@given(latitudes, longitudes)
def test_generalising_twice_moves_nothing(lat, lon):
    once = geodesy.generalise(lat, lon, uncertainty_metres=0, precision_degrees=0.01)
    twice = geodesy.generalise(
        once.decimal_latitude, once.decimal_longitude, uncertainty_metres=0, precision_degrees=0.01
    )
    assert (twice.decimal_latitude, twice.decimal_longitude) == (
        once.decimal_latitude,
        once.decimal_longitude,
    )


def test_two_places_of_one_cell_cannot_be_told_apart():
    given_points = [(53.9012, 21.7033), (53.8961, 21.6961)]
    made = {
        geodesy.generalise(*p, uncertainty_metres=5, precision_degrees=0.01) for p in given_points
    }
    assert len(made) == 1


def test_a_grid_of_no_width_is_refused():
    with pytest.raises(ValueError, match="more than 0"):
        geodesy.generalise(0, 0, uncertainty_metres=0, precision_degrees=0)


def test_the_parallel_shrinks_to_nothing_at_the_pole():
    assert geodesy.metres_per_degree(90)[1] == pytest.approx(0, abs=1e-9)
    assert math.isclose(geodesy.metres_per_degree(-45)[1], geodesy.metres_per_degree(45)[1])


def test_the_180th_meridian_is_one_cell_from_both_sides():
    east, west = (
        geodesy.generalise(10.0, longitude, uncertainty_metres=5, precision_degrees=0.01)
        for longitude in (179.998, -179.998)
    )
    assert east == west
    assert east.decimal_longitude == 180.0
