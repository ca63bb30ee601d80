"""Privacy: grids, categories, redaction, and the search for leaks."""

from __future__ import annotations

import io
import zipfile

import pytest
from geographiclib.geodesic import Geodesic
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from tests_support import find_leaks

from triage import privacy
from triage.privacy import ReleasePolicy, Secrets, Sensitivity, release_point

POLICY = ReleasePolicy()

latitudes = st.floats(min_value=-89.9, max_value=89.9)
longitudes = st.floats(min_value=-180, max_value=180)


# Chapman 2020, doi:10.15468/doc-5jp4-5g10, table 7.
@pytest.mark.parametrize(
    ("category", "precision"), [("1", None), ("2", 0.1), ("3", 0.01), ("4", 0.001)]
)
def test_the_categories_have_the_precisions_of_table_7(category, precision):
    assert privacy.sensitivity(POLICY, site_categories=[category]).precision == precision
    assert privacy.sensitivity(POLICY, taxon_categories=[category]).precision == precision


@pytest.mark.parametrize(
    ("categories", "home", "hidden"),
    [
        ([], False, False),
        ([""], False, False),
        (["4"], False, False),
        (["3"], False, True),
        (["2"], False, True),
        (["1"], False, True),
        (["4", "3"], False, True),
        (["7"], False, True),  # nobody defined it
        (["high"], False, True),
        ([], True, True),
        (["4"], True, True),
    ],
)
def test_names_and_remarks_are_withheld_from_category_3_on_and_at_homes(categories, home, hidden):
    """docs/privacy.md, the table of places; a category that is not 1 to 4 counts as 1."""
    of_site = privacy.sensitivity(POLICY, site_categories=categories, private_home=home)
    of_taxon = privacy.sensitivity(POLICY, taxon_categories=categories, private_home=home)
    assert (of_site.hidden, of_taxon.hidden) == (hidden, hidden)


def test_the_strictest_reason_decides_and_all_are_named():
    wanted = privacy.sensitivity(
        POLICY, site_categories=["4"], taxon_categories=["2", "3"], private_home=True
    )
    assert wanted.precision == 0.1
    assert wanted.hidden
    assert wanted.reasons == (
        *("sensitive site, category 4", "sensitive taxon, category 2"),
        *("sensitive taxon, category 3", "private home"),
    )


def test_an_ordinary_record_has_the_release_precision_and_is_not_hidden():
    assert privacy.sensitivity(POLICY) == Sensitivity(precision=0.001)


def test_a_survey_may_release_more_coarsely_than_a_category_asks():
    coarse = ReleasePolicy(release_precision=0.1)
    assert privacy.sensitivity(coarse, site_categories=["3"]).precision == 0.1


def test_a_category_nobody_defined_is_treated_as_the_strictest():
    wanted = privacy.sensitivity(POLICY, site_categories=["high"])
    assert wanted.precision is None
    assert wanted.hidden


@pytest.mark.parametrize("precision", [0, -0.1, 1.5])
def test_a_precision_that_is_no_grid_is_refused(precision):
    with pytest.raises(ValueError, match="precision"):
        ReleasePolicy(release_precision=precision)


@settings(deadline=None)
@given(
    latitude=latitudes,
    longitude=longitudes,
    radius=st.floats(min_value=1, max_value=5000),
    precision=st.sampled_from([0.1, 0.01, 0.001]),
)
def test_the_released_circle_holds_the_whole_held_circle(latitude, longitude, radius, precision):
    # Distances by GeographicLib (Karney 2013), independent of the code under test.
    point = release_point(latitude, longitude, radius, Sensitivity(precision=precision))
    assert point.decimal_latitude is not None
    moved = Geodesic.WGS84.Inverse(
        latitude, longitude, point.decimal_latitude, point.decimal_longitude
    )["s12"]
    assert moved + radius <= point.coordinate_uncertainty_in_meters


@settings(deadline=None)
@given(
    cell=st.tuples(st.integers(-8000, 8000), st.integers(-17000, 17000)),
    inside=st.tuples(st.floats(-0.49, 0.49), st.floats(-0.49, 0.49)),
)
def test_every_point_of_a_cell_is_released_alike(cell, inside):
    wanted = Sensitivity(precision=0.01)
    centre = release_point(cell[0] / 100, cell[1] / 100, 10.0, wanted)
    other = release_point((cell[0] + inside[0]) / 100, (cell[1] + inside[1]) / 100, 10.0, wanted)
    assert other == centre


# Chapman & Wieczorek 2020, doi:10.15468/doc-gg7h-s853, uncertainty due to coordinate precision:
# the published radius is for a point that is off by a whole width on each axis, twice our half.
@pytest.mark.parametrize(("latitude", "metres"), [(0.0, 1570), (30.0, 1470), (60.0, 1246)])
def test_the_enlargement_is_half_of_the_published_radius_of_the_grid(latitude, metres):
    point = release_point(latitude, 10.0, 1.0, Sensitivity(precision=0.01))
    assert point.coordinate_uncertainty_in_meters == pytest.approx(metres / 2 + 1, abs=1.5)


def test_a_place_of_unknown_uncertainty_stays_of_unknown_uncertainty():
    point = release_point(53.9, 21.7, None, Sensitivity(precision=0.01))
    assert point.coordinate_uncertainty_in_meters is None
    assert "not known" in point.data_generalizations


def test_a_withheld_place_says_so_and_why():
    point = release_point(53.9, 21.7, 10.0, Sensitivity(precision=None, reasons=("x",)))
    assert point.decimal_latitude is None
    assert point.information_withheld == "coordinates withheld (x)"


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("seen by ada  REED today", "seen by [withheld] today"),
        ("Reed and bulrush, Ada's", "[withheld] and bulrush, Ada's"),
        ("a reed bed", "a reed bed"),
        ("at the Mill Pond, north bank", "at [withheld], north bank"),
        ("at The Mill Ponds", "at The Mill Ponds"),
        ("write to ada.reed@example.org", "write to [withheld]"),
        ("https://example.org/album?id=1", "[withheld]"),
        ("call +48 600 123 456", "call [withheld]"),
        ("at 53.91234 N, 21,71234 E", "at [withheld] N, [withheld] E"),
        ("53\u00b054'44.4\"N", "[withheld]N"),
        ("wings 45.5 mm, 12 of 30, 2026-06-13", "wings 45.5 mm, 12 of 30, 2026-06-13"),
    ],
)
def test_free_text_loses_what_it_must_not_say(text, expected):
    assert privacy.redact(text, names=["Ada Reed"], places=["the Mill Pond"]) == expected


@settings(deadline=None)
@given(st.text(), st.lists(st.text(min_size=2, max_size=12)))
def test_no_text_and_no_name_breaks_the_redaction(text, names):
    redacted = privacy.redact(text, names=names, places=names)
    assert privacy.redact(redacted, names=[], places=[]) == redacted or "[withheld]" in redacted


def test_a_cleaned_photo_keeps_its_upright_pixels_and_nothing_else():
    picture = Image.new("RGB", (64, 48), (10, 200, 30))
    exif = picture.getexif()
    exif[0x0112] = 8
    exif[0x013B] = "Ada Reed"
    buffer = io.BytesIO()
    picture.save(buffer, "JPEG", exif=exif, comment=b"Mill Pond")
    cleaned = privacy.clean_photo(buffer.getvalue() + b"trailing Ada Reed")
    assert b"Ada" not in cleaned
    assert b"Mill" not in cleaned
    with Image.open(io.BytesIO(cleaned)) as image:
        assert image.size == (48, 64)
        red, green, blue = image.convert("RGB").getpixel((20, 20))
        assert abs(red - 10) + abs(green - 200) + abs(blue - 30) < 12
    assert not privacy.has_metadata(cleaned)
    assert privacy.has_metadata(buffer.getvalue())


def test_leaks_are_found_in_plain_files_in_zips_in_names_and_in_pictures(tmp_path):
    (tmp_path / "a.csv").write_text("x,ada&#32;reed\n53.9123,1\n", encoding="utf-8")
    with zipfile.ZipFile(tmp_path / "b.zip", "w") as archive:
        archive.writestr("inner.txt", "Mill\nPond 21.71876")
    (tmp_path / "Mill Pond.txt").write_text("", encoding="utf-8")
    picture = Image.new("RGB", (8, 8))
    exif = picture.getexif()
    exif[0x010F] = "x"
    picture.save(tmp_path / "c.jpg", exif=exif)
    secrets = Secrets(words=("Ada Reed", "Mill Pond"), points=((53.91234, 21.71876, 3),))
    found = {(leak.file, leak.found) for leak in find_leaks(tmp_path, secrets)}
    assert found == {
        ("a.csv", "Ada Reed"),
        ("a.csv", "53.91234 as 53.9123"),
        ("b.zip/inner.txt", "Mill Pond"),
        ("b.zip/inner.txt", "21.71876 as 21.71876"),
        ("Mill Pond.txt", "Mill Pond"),
        ("c.jpg", "metadata inside the picture"),
    }


@pytest.mark.parametrize("shown", ["53.9123", "53.9124", "53.912341", "-53.91234", "53.91234000"])
def test_rounded_and_truncated_coordinates_are_leaks(tmp_path, shown):
    (tmp_path / "a.csv").write_text(f"{shown},\n", encoding="utf-8")
    assert find_leaks(tmp_path, Secrets(points=((53.912345, 0.0, 3),)))


def test_a_fraction_of_a_picture_is_no_longitude_near_greenwich(tmp_path):
    secrets = Secrets(points=((51.477812, 0.123456, 3),))
    (tmp_path / "a.csv").write_text("0.123456,0.5\n", encoding="utf-8")
    assert find_leaks(tmp_path, secrets) == ()
    (tmp_path / "a.csv").write_text("0.123456,51.477812\n", encoding="utf-8")
    assert len(find_leaks(tmp_path, secrets)) == 2


def test_a_place_no_finer_than_the_grid_has_nothing_to_give_away(tmp_path):
    (tmp_path / "a.csv").write_text("16.7501,16.75001\n", encoding="utf-8")
    assert find_leaks(tmp_path, Secrets(points=((47.84, 16.75, 3),))) == ()
    assert find_leaks(tmp_path, Secrets(points=((47.84, 16.75, 1),)))


@pytest.mark.parametrize("shown", ["53.912", "53.91", "53.9150", "153.91234", "2.53.91234"])
def test_released_and_other_numbers_are_none(tmp_path, shown):
    (tmp_path / "a.csv").write_text(f"{shown},\n", encoding="utf-8")
    assert find_leaks(tmp_path, Secrets(points=((53.912345, 21.0, 3),))) == ()


@pytest.mark.parametrize(
    ("given_date", "day", "month"),
    [
        ("2026-06-13T14:07:05+02:00", "2026-06-13", "2026-06"),
        ("2026-06-13T22:00Z/2026-06-14T01:00Z", "2026-06-13/2026-06-14", "2026-06"),
        ("2026-06-30/2026-07-02", "2026-06-30/2026-07-02", "2026-06/2026-07"),
        ("2026", "2026", "2026"),
        ("", "", ""),
    ],
)
def test_dates_are_cut_to_the_day_and_to_the_month(given_date, day, month):
    assert privacy.day_only(given_date) == day
    assert privacy.month_only(given_date) == month
