"""What a camera's coordinates claim, and what speaks against them."""

from datetime import UTC, datetime

import pytest

from triage.metadata.exif import ExifRecord
from triage.metadata.point_radius import coordinate_precision_uncertainty
from triage.metadata.position import (
    PRECEDENCE,
    Fix,
    NamedPlace,
    PlaceClaim,
    choose_place,
    doubts_against,
    frozen_fixes,
    place_claims,
    position_doubts_of,
)

AREA = (53.5, 21.0, 54.5, 22.5)
CAPTURED = "2026-06-14T10:05:12+02:00"
POOL = NamedPlace(
    location_id="S2",
    locality="Alder Pool",
    aliases=(),
    decimal_latitude=53.91,
    decimal_longitude=21.70,
    coordinate_uncertainty_in_meters=100.0,
)


def claim(
    latitude=53.90001, longitude=21.70001, *, captured=CAPTURED, area=AREA, **fields
) -> PlaceClaim:
    exif = ExifRecord(gps_latitude=latitude, gps_longitude=longitude, **fields)
    (found,) = place_claims(exif, captured=captured, area=area)
    return found


def test_a_fix_without_accuracy_has_darwin_cores_thirty_metres():
    found = claim()
    assert found.coordinate_uncertainty_in_meters == 30.0
    assert (found.decimal_latitude, found.decimal_longitude) == (53.90001, 21.70001)
    assert found.doubts == ()
    assert "10" not in found.locality


def test_no_coordinates_are_no_claim():
    assert place_claims(ExifRecord(), captured=CAPTURED, area=AREA) == ()
    assert place_claims(ExifRecord(gps_latitude=53.9), captured=CAPTURED, area=AREA) == ()


def test_a_positioning_error_is_doubled():
    # A published sample file (exif-samples, heic/IMG_5195.HEIC): GPSHPositioningError 250111/6444;
    # doubled after Chapman & Wieczorek 2020.
    found = claim(gps_h_positioning_error=250111 / 6444)
    assert found.coordinate_uncertainty_in_meters == pytest.approx(77.6)


def test_the_step_of_the_coordinates_adds_to_the_radius():
    found = claim(gps_coordinate_precision=1 / 3600)
    step = coordinate_precision_uncertainty(53.9, 1 / 3600)
    assert found.coordinate_uncertainty_in_meters == pytest.approx(30 + step, abs=0.1)


@pytest.mark.parametrize(
    ("latitude", "longitude", "step"),
    [(53.9, 21.7, 0.1), (53 + 55 / 60, 21 + 43 / 60, 1 / 60), (53.91, 21.7, 0.01),
     (53.912, 21.7, 0.001), (53.9123, 21.7, 0.0001), (53.91234, 21.7, 0.0)],
)  # fmt: skip
def test_few_digits_of_a_fix_add_what_they_leave_open(latitude, longitude, step):
    """Whatever the fractions of the file could express: 53.9 is written 53 deg 54' 0.00"."""
    precision = coordinate_precision_uncertainty(latitude, step)
    radius = claim(latitude, longitude).coordinate_uncertainty_in_meters
    assert radius == pytest.approx(30 + precision, abs=0.1)


@pytest.mark.parametrize(
    ("fields", "metres", "doubt"),
    [
        ({"gps_dop": 2.0}, 30, ""),
        ({"gps_dop": 8.0}, 80, ""),
        ({"gps_dop": 25.0}, 250, "poor fix: dilution of precision 25"),
        ({"gps_status": "V"}, 30, "the receiver marked its fix void"),
        ({"gps_processing_method": "CELLID"}, 5000, "placed by a mobile mast, kilometres wide"),
        ({"gps_processing_method": "WLAN"}, 100, ""),
        ({"gps_processing_method": "CELLID", "gps_h_positioning_error": 20.0}, 40, ""),
        ({"gps_map_datum": "WGS-84"}, 30, ""),
        ({"gps_map_datum": "WGS 84"}, 30, ""),
        ({"gps_map_datum": "TOKYO"}, 5389, "the datum is TOKYO, not WGS-84"),
        ({"captured": ""}, 100, ""),
        ({"captured": "1999-06-14"}, 100, ""),
        ({"gps_h_positioning_error": 0.0}, 30, ""),
    ],
)
def test_what_the_receiver_says_of_its_fix_sets_radius_and_doubt(fields, metres, doubt):
    found = claim(**fields)
    assert found.coordinate_uncertainty_in_meters == pytest.approx(metres)
    assert found.doubts == ((doubt,) if doubt else ())


@pytest.mark.parametrize(
    ("fixed", "metres", "doubted"),
    [("2026-06-14T08:05:12", 30, False), ("2026-06-14T08:04:12", 120, False),
     ("2026-06-14T07:05:12", 30, True), ("2026-06-14T08:05:14", 30, False)],
)  # fmt: skip
def test_an_old_fix_widens_the_circle_and_a_stale_one_is_doubted(fixed, metres, doubted):
    moment = datetime.fromisoformat(fixed).replace(tzinfo=UTC)
    found = claim(gps_instant=moment)
    assert found.coordinate_uncertainty_in_meters == pytest.approx(metres)
    assert found.doubts == (("the fix is 60 min older than the photo",) if doubted else ())


@pytest.mark.parametrize(
    ("latitude", "longitude", "offered", "word"),
    [
        (0.0, 0.0, None, "no fix"),
        (21.7, 53.9, (53.9, 21.7), "swapped"),
        (-53.9, 21.7, (53.9, 21.7), "sign of the latitude"),
        (53.9, -21.7, (53.9, 21.7), "sign of the longitude"),
        (-53.9, -21.7, (53.9, 21.7), "both signs"),
        (48.2, 16.4, None, "outside the survey's area"),
    ],
)
def test_a_point_outside_the_area_is_doubted_and_the_fix_offered(
    latitude, longitude, offered, word
):
    found = claim(latitude, longitude)
    assert found.offered == offered
    assert word in found.doubts[0]
    assert found.decimal_latitude == latitude


def test_without_an_area_only_the_impossible_is_doubted():
    assert claim(48.20001, 16.4, area=None).doubts == ()


def test_an_area_may_cross_the_date_line():
    area = (-20.0, 175.0, -10.0, -175.0)
    assert position_doubts_of(-15.0, 179.0, area) == ((), None)
    assert position_doubts_of(-15.0, -179.0, area) == ((), None)
    assert position_doubts_of(-15.0, 100.0, area)[0] == ("outside the survey's area",)


def test_coordinates_off_the_earth_are_shown_and_not_used():
    found = claim(139.7, 35.6)
    assert found.decimal_latitude is None
    assert found.offered == (35.6, 139.7)
    assert found.verbatim == "139.7000000, 35.6000000"


def test_a_missing_sign_is_a_doubt():
    oddity = "GPSLongitudeRef is missing: the sign is unknown"
    assert claim(oddities=(oddity,)).doubts == (oddity,)


def test_places_are_chosen_in_the_documented_order():
    def of(source, **fields):
        return PlaceClaim(
            source=source,
            decimal_latitude=1.0,
            decimal_longitude=1.0,
            coordinate_uncertainty_in_meters=30,
            **fields,
        )

    order = [of(source) for source in PRECEDENCE]
    assert choose_place(reversed(order)) is order[0]
    assert choose_place(order[2:]).source == "camera gps"
    named = of("message site name")
    assert choose_place([of("camera gps", doubts=("far",)), named]) is named
    assert choose_place([]) is None


@pytest.mark.parametrize(
    ("latitude", "doubts"),
    [
        (53.911, ()),  # 111 m, both radii together allow 130 m
        (53.912, ("223 m from Alder Pool, both uncertainties allow 130 m",)),
        (53.95, ("4.5 km from Alder Pool, both uncertainties allow 130 m",)),
    ],
)
def test_a_point_far_from_the_named_site_is_doubted(latitude, doubts):
    assert doubts_against(claim(latitude + 1e-6, 21.700011), POOL) == doubts


def fix(photo, clock, latitude=53.9, gps=None, camera="Acme"):
    return Fix(
        photo=photo,
        camera=camera,
        clock_time=f"2026-06-14T{clock}",
        latitude=latitude,
        longitude=21.7,
        gps_instant=gps,
    )


def test_a_fix_repeated_to_the_last_digit_is_frozen():
    fixes = [fix("c", "10:30:00"), fix("a", "10:00:00"), fix("b", "10:01:00")]
    assert frozen_fixes(fixes) == (("c", "the same fix to the last digit as 30 min before"),)


def test_live_fixes_and_other_cameras_are_not_frozen():
    fixes = [
        fix("a", "10:00:00"),
        fix("b", "10:30:00", latitude=53.900001),
        fix("c", "10:30:00", camera="Other"),
        fix("d", "10:30:00", gps=datetime(2026, 6, 14, 8, 30, tzinfo=UTC)),
    ]
    assert frozen_fixes(fixes) == ()
