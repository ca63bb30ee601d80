"""The point-radius method against the tables of Chapman & Wieczorek (2020), Georeferencing Best
Practices, https://doi.org/10.15468/doc-gg7h-s853; to the metre, as the published cells are rounded.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.metadata import point_radius

# Uncertainty due to coordinate precision, metres at latitude 0, 30, 60 and 85 degrees.
PRECISION_TABLE = [
    (1.0, (156_904, 146_962, 124_605, 112_109)),
    (0.1, (15_691, 14_697, 12_461, 11_211)),
    (0.01, (1570, 1470, 1246, 1121)),
    (0.001, (157, 147, 125, 112)),
    (0.0001, (16, 15, 13, 12)),
    (0.00001, (2, 2, 2, 2)),
    (1 / 60, (2615, 2450, 2077, 1869)),
    (0.1 / 60, (262, 245, 208, 187)),
    (1 / 3600, (44, 41, 35, 32)),
    (0.1 / 3600, (5, 5, 4, 4)),
]


@pytest.mark.parametrize(("precision", "row"), PRECISION_TABLE)
def test_coordinate_precision_agrees_with_the_published_table(precision, row):
    for latitude, metres in zip((0, 30, 60, 85), row, strict=True):
        found = point_radius.coordinate_precision_uncertainty(latitude, precision)
        assert found == pytest.approx(metres, abs=1.0)


@pytest.mark.parametrize(
    ("latitude", "precision", "metres"), [(10.27, 0.01, 1556.8), (10.0, 0.5, 77_870)]
)
def test_coordinate_precision_agrees_with_the_examples_of_the_text(latitude, precision, metres):
    found = point_radius.coordinate_precision_uncertainty(latitude, precision)
    assert found == pytest.approx(metres, abs=1.0)


@given(st.floats(-90, 90), st.floats(0, 1))
def test_precision_is_the_same_on_both_hemispheres(latitude, precision):
    north = point_radius.coordinate_precision_uncertainty(latitude, precision)
    south = point_radius.coordinate_precision_uncertainty(-latitude, precision)
    assert north == pytest.approx(south)


@pytest.mark.parametrize(
    ("written", "half_step"),
    [("10.1", 0.05), ("10.0", 0.05), ("10.5", 0.25), ("10.25", 0.125), ("10", 0.5), ("15", 0.5),
     ("100", 5), ("140", 5), ("1000", 50), ("2000", 50)],
)  # fmt: skip
def test_distance_precision_agrees_with_the_published_table(written, half_step):
    assert point_radius.distance_precision(written) == half_step


@pytest.mark.parametrize(
    ("heading", "angle"), [("N", 45), ("SW", 22.5), ("NNE", 11.25), ("ese", 11.25)]
)
def test_headings_leave_the_published_angles_open(heading, angle):
    assert point_radius.heading_half_angle(heading) == angle


def test_ten_kilometres_north_east_are_uncertain_by_the_published_chord():
    assert point_radius.direction_uncertainty(10, 22.5) == pytest.approx(3.90, abs=0.005)


@pytest.mark.parametrize(
    ("event_date", "metres"),
    [("2026-06-14T10:05:12", 30), ("2000-05-01", 30), ("2000-04-30", 100), ("", 100)],
)
def test_an_unrecorded_gps_accuracy_has_darwin_cores_default(event_date, metres):
    assert point_radius.gps_uncertainty(event_date) == metres


@pytest.mark.parametrize(
    "call",
    [
        lambda: point_radius.coordinate_precision_uncertainty(91, 0.1),
        lambda: point_radius.coordinate_precision_uncertainty(0, -0.1),
        lambda: point_radius.distance_precision("0"),
        lambda: point_radius.distance_precision("far"),
        lambda: point_radius.heading_half_angle("NORTH"),
        lambda: point_radius.heading_half_angle(""),
        lambda: point_radius.direction_uncertainty(-1, 20),
    ],
)
def test_what_is_out_of_range_is_refused(call):
    with pytest.raises(ValueError):  # noqa: PT011 - one law for seven messages
        call()
