"""Coordinates as people write them, and numbers that are none."""

import mgrs
import pytest
from pyproj import Transformer

from triage.metadata.text_coordinates import find_coordinates

LAT, LON = 53.9084722, 21.7027778  # 53 54 30.5 N, 21 42 10 E


def only(text, **options):
    claims, _ = find_coordinates(text, **options)
    assert len(claims) == 1, (text, claims)
    return claims[0]


@pytest.mark.parametrize(
    "text",
    [
        "53°54'30.5\" N, 21°42'10\" E",
        "53° 54′ 30.5″ N 21° 42′ 10″ E",
        "53º 54’ 30,5” N, 21º 42’ 10” E",
        "N 53° 54' 30.5\" E 21° 42' 10\"",
        "N53°54'30.5\"E21°42'10\"",
        "53°54'30.5''N 21°42'10''E",
        "53\u00a0°\u00a054\u00a0'\u00a030.5\u00a0\" N / 21\u00a0°\u00a042\u00a0'\u00a010\u00a0\" E",
        "53 deg 54' 30.5\" N; 21 deg 42' 10\" E",
        "53 Grad 54' 30,5\" N, 21 Grad 42' 10\" O",
        "21°42'10\"E 53°54'30.5\"N",
        "53˚54´30.5˝N 21˚42´10˝E".replace("˝", '"'),
        "53° 54.508333' N, 21° 42.166667' E",
        "N 53° 54,508333' E 021° 42,166667'",
        "N53 54.508333 E021 42.166667",
        "53.9084722, 21.7027778",
        "53.9084722 21.7027778",
        "53,9084722; 21,7027778",
        "53,9084722 21,7027778",
        "53,9084722, 21,7027778",
        "53.9084722°N 21.7027778°E",
        "53.9084722 N, 21.7027778 E",
        "N 53.9084722, E 21.7027778",
        "53,9084722° N / 21,7027778° O",
        "(53.9084722, 21.7027778)",
        "lat: 53.9084722, lon: 21.7027778",
        "Latitude 53.9084722 Longitude 21.7027778",
        "Breite 53,9084722 Länge 21,7027778",
        "https://maps.example.org/place/@53.9084722,21.7027778,17z/data=x",
        "https://maps.example.org/?q=53.9084722,21.7027778",
        "https://maps.example.org/?ll=53.9084722%2C21.7027778&z=12",
        "https://map.example.org/?mlat=53.9084722&mlon=21.7027778#map=15/53.9/21.7",
        "geo:53.9084722,21.7027778;u=35",
        "here: https://maps.example.org/x!3d53.9084722!4d21.7027778 thanks",
    ],
)
def test_every_way_of_writing_gives_the_same_point(text):
    claim = only(text)
    assert claim.decimal_latitude == pytest.approx(LAT, abs=2e-6), text
    assert claim.decimal_longitude == pytest.approx(LON, abs=2e-6), text
    assert claim.source == "message coordinates"
    assert claim.doubts == ()


@pytest.mark.parametrize(
    ("text", "latitude", "longitude"),
    [
        ("33°51'24\" S, 151°12'55\" E", -33.8566667, 151.2152778),
        ("S 33.8567 W 70.6", None, None),
        ("40.4461 N, 79.9822 W", 40.4461, -79.9822),
        ("-33.8567, 151.2153", -33.8567, 151.2153),
        ("−33.8567, −70.6483", -33.8567, -70.6483),
        ("53.9084722 N, 21.7027778 W", 53.9084722, -21.7027778),
    ],
)
def test_hemispheres_and_minus_signs_are_kept(text, latitude, longitude):
    claims, _ = find_coordinates(text)
    if latitude is None:
        assert claims == []
        return
    assert claims[0].decimal_latitude == pytest.approx(latitude, abs=1e-6)
    assert claims[0].decimal_longitude == pytest.approx(longitude, abs=1e-6)


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        # 30 m for a GPS place of unrecorded accuracy (Darwin Core) and the precision of writing,
        # which is 128.4, 12.8 and 35.7 m at 55 N for 0.001, 0.0001 degree and a second (computed
        # with the formula of Chapman & Wieczorek 2020).
        ("55.000 N, 21.000 E", 158.4),
        ("55.0000 N, 21.0000 E", 42.8),
        ("55°0'1\" N, 21°0'1\" E", 65.7),
        ("55° 0' N, 21° 0' E", 30 + 2140.1),
    ],
)
def test_the_uncertainty_follows_the_precision_of_the_writing(text, metres):
    assert only(text).coordinate_uncertainty_in_meters == pytest.approx(metres, abs=1.0)


@pytest.mark.parametrize(
    "template",
    ["UTM 34U {e} {n}", "34U {e} {n}", "34 U {e}E {n}N", "34N {e} {n}", "34U E {e} N {n}"],
)
def test_utm_agrees_with_proj(template):
    to_utm = Transformer.from_crs(4326, 32634, always_xy=True)
    east, north = (round(v) for v in to_utm.transform(LON, LAT))
    claim = only(template.format(e=east, n=north))
    assert claim.decimal_latitude == pytest.approx(LAT, abs=1e-5)
    assert claim.decimal_longitude == pytest.approx(LON, abs=1e-5)
    assert claim.coordinate_uncertainty_in_meters == pytest.approx(31.4, abs=0.1)


@pytest.mark.parametrize("precision", [3, 4, 5])
@pytest.mark.parametrize("spaced", [True, False])
def test_mgrs_names_the_middle_of_its_square(precision, spaced):
    written = mgrs.MGRS().toMGRS(LAT, LON, MGRSPrecision=precision)
    if spaced:
        digits = written[5:]
        written = f"{written[:3]} {written[3:5]} {digits[:precision]} {digits[precision:]}"
    claim = only(f"Grid {written} at the dam")
    cell = 10.0 ** (5 - precision)
    degrees = cell / 60_000  # half a cell is less than this at 54 N
    assert claim.decimal_latitude == pytest.approx(LAT, abs=degrees)
    assert claim.decimal_longitude == pytest.approx(LON, abs=degrees)
    assert claim.coordinate_uncertainty_in_meters == pytest.approx(30 + cell * 2**0.5 / 2, abs=0.1)


def test_a_square_whose_middle_lies_beyond_its_band_is_read_without_a_word_of_the_library():
    """Band U begins at 48 N (NGA.STND.0037, from memory); this middle lies 11 km south of it."""
    claim = only("Grid 34U BU 12345 12345 at the dam")
    assert claim.decimal_latitude == pytest.approx(47.9, abs=0.001)


def test_swapped_coordinates_in_the_area_are_offered():
    claim = only("21.7027778, 53.9084722", area=(53.5, 21.0, 54.5, 22.5))
    assert claim.offered == (53.9084722, 21.7027778)
    assert "swapped" in claim.doubts[0]


def test_a_latitude_that_cannot_be_is_read_as_swapped_and_doubted():
    claim = only("139.7000, 35.6000")
    assert (claim.decimal_latitude, claim.decimal_longitude) == (35.6, 139.7)
    assert claim.doubts == ("latitude and longitude were swapped in the text",)


def test_three_decimals_alone_are_believed_inside_the_area_only():
    assert find_coordinates("53.908, 21.703")[0] == []
    assert only("53.908, 21.703", area=(53.5, 21.0, 54.5, 22.5)).decimal_latitude == 53.908


def test_the_same_point_twice_is_one_claim():
    claims, spans = find_coordinates("53.9084722, 21.7027778 (53.9084722 N 21.7027778 E)")
    assert len(claims) == 1
    assert len(spans) == 2


@pytest.mark.parametrize(
    "text",
    [
        "Call 0171 12345678 or 089 1234-567",
        "+48 22 123 45 67",
        "tel. 53 908 47 22",
        "f/2.8, 1/250 s, ISO 400, 105.0 mm",
        "12.50 and 13.75 euro",
        "12,500 13,000 visitors",
        "1.234,56 EUR; 2.345,67 EUR",
        "size 45.5 mm, wing 38.25 mm",
        "between 10.30 and 11.15",
        "10:05:12 and 11:06:13",
        "14.06.2026, 15.06.2026",
        "version 53.908.21",
        "192.168.178.21",
        "invoice 53.9084722",
        "7 S, 3 E of them",
        "we saw 5 N and 7 W facing males",
        "at 15° C and 20° C",
        "20° with wind 5 W",
        "53°61'30\" N 21°42'10\" E",
        "53°54'75\" N 21°42'10\" E",
        "95°54'30\" N 21°42'10\" E",
        "53.9084722 N 21.7027778 N",
        "DSC_1234 5678",
        "B12 AB 123456",
        "36M of reed",
        "4K HD 6030 video",
        "order 12S AB 12345",
        "ISBN 978-3-16-148410-0",
        "temperatures 21.345 22.456 23.567 24.678",
        "mean 0.123, 0.456 and 0.789",
        "pH 7.123/7.456",
        "grid of 1.000, 2.000 m",
        "https://example.org/2026/06/14/photo-53.jpg",
        "",
    ],
)
def test_other_numbers_are_no_coordinates(text):
    assert find_coordinates(text)[0] == []


def test_the_rest_of_the_text_keeps_its_positions():
    text = "At 53.9084722, 21.7027778 today"
    _, spans = find_coordinates(text)
    assert [text[slice(*span)] for span in spans] == ["53.9084722, 21.7027778"]
