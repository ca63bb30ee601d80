"""The demo's files carry Exif as Exif's own readers expect it."""

from __future__ import annotations

import io
import json
import shutil
import subprocess
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import exifread
import numpy as np
import pytest
from PIL import Image, ImageOps

from triage.demo.camera_files import camera_clock, encode, fix, shrink
from triage.demo.scenario import DEVICES, WATERS, Picture

PICTURE = Picture(file_name="IMG_1.jpg", taken=datetime(2026, 7, 1, 0, 30, 5), spot="LNT-02")


def _pixels() -> np.ndarray:
    """A wide picture, bright at the upper left."""
    pixels = np.full((40, 60, 3), 40, np.uint8)
    pixels[:20, :30] = 220
    return pixels


def test_a_phone_states_offset_place_and_error() -> None:
    content = encode(_pixels(), PICTURE, DEVICES["pocket"])
    tags = exifread.process_file(io.BytesIO(content), details=False)
    assert str(tags["EXIF DateTimeOriginal"]) == "2026:07:01 00:30:05"
    assert str(tags["EXIF OffsetTimeOriginal"]) == "+02:00"
    assert str(tags["GPS GPSDate"]) == "2026:06:30"  # UTC is still on the day before
    place = fix(PICTURE)
    assert place is not None
    latitude, longitude = exifread.utils.get_gps_coords(tags)
    assert latitude == pytest.approx(place[0], abs=2e-6)
    assert longitude == pytest.approx(place[1], abs=2e-6)
    error = tags["GPS Tag 0x001F"].values[0]
    assert float(error) == pytest.approx(place[2])


@pytest.mark.parametrize("camera", ["reed", "tarn", "north", "slow"])
def test_a_camera_knows_neither_zone_nor_place(camera: str) -> None:
    content = encode(_pixels(), PICTURE, DEVICES[camera])
    tags = exifread.process_file(io.BytesIO(content), details=False)
    assert "EXIF DateTimeOriginal" in tags
    assert not [name for name in tags if "OffsetTime" in name or name.startswith("GPS")]


@pytest.mark.parametrize(
    ("camera", "shown"),
    [
        ("reed", "2026-07-01"),
        ("tarn", "2025-07-01"),
        ("slow", "2026-06-30"),
        ("north", "2000-01-01"),
    ],
)
def test_a_wrong_clock_is_wrong_in_its_own_way(camera: str, shown: str) -> None:
    assert PICTURE.taken is not None
    assert camera_clock(DEVICES[camera], PICTURE.taken).date().isoformat() == shown


@pytest.mark.parametrize("orientation", [1, 3, 6, 8])
def test_pixels_are_stored_unrotated_and_the_tag_turns_them_back(orientation: int) -> None:
    picture = replace(PICTURE, orientation=orientation, quality=95)
    with Image.open(io.BytesIO(encode(_pixels(), picture, DEVICES["pocket"]))) as stored:
        turned = stored.size == (40, 60)
        upright = np.asarray(ImageOps.exif_transpose(stored))
    assert turned == (orientation in (6, 8))
    assert upright.shape == (40, 60, 3)
    assert upright[5, 5].min() > 180
    assert upright[35, 55].max() < 80


def test_a_bare_picture_carries_no_exif_and_a_shrunk_one_neither() -> None:
    bare = encode(_pixels(), replace(PICTURE, bare=True), DEVICES["pocket"])
    small = shrink(encode(_pixels(), PICTURE, DEVICES["pocket"]), 30, 70)
    for content in (bare, small):
        with Image.open(io.BytesIO(content)) as opened:
            assert not opened.getexif()
    with Image.open(io.BytesIO(small)) as opened:
        assert opened.size == (30, 20)


def test_a_heif_file_carries_its_exif() -> None:
    import pillow_heif

    content = encode(_pixels(), replace(PICTURE, kind="HEIF"), DEVICES["fern"])
    opened = pillow_heif.open_heif(io.BytesIO(content))
    assert opened.size == (60, 40)
    assert b"Brightwater" in opened.info["exif"]


def test_points_scatter_within_the_stated_radius_of_their_water() -> None:
    from geographiclib.geodesic import Geodesic

    for number, water in WATERS.items():
        place = fix(replace(PICTURE, spot=number))
        assert place is not None
        away = Geodesic.WGS84.Inverse(water.latitude, water.longitude, place[0], place[1])["s12"]
        assert away < water.radius


@pytest.mark.system("exiftool")
@pytest.mark.skipif(shutil.which("exiftool") is None, reason="exiftool is not installed")
def test_exiftool_reads_the_same_and_finds_nothing_to_warn_of(tmp_path: Path) -> None:
    """Phil Harvey's ExifTool as the second reader."""
    file = tmp_path / "one.jpg"
    file.write_bytes(encode(_pixels(), PICTURE, DEVICES["pocket"]))
    command = ["exiftool", "-json", "-n", "-validate", "-warning", "-all", str(file)]
    told = json.loads(subprocess.run(command, check=True, capture_output=True).stdout)[0]
    assert told["DateTimeOriginal"] == "2026:07:01 00:30:05"
    assert told["OffsetTimeOriginal"] == "+02:00"
    place = fix(PICTURE)
    assert place is not None
    assert told["GPSLatitude"] == pytest.approx(place[0], abs=2e-6)
    assert told["GPSLongitude"] == pytest.approx(place[1], abs=2e-6)
    assert "Warning" not in told
    assert str(told["Validate"]) in ("OK", "0 0 0")
