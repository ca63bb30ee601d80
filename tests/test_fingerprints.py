"""A photo's fingerprint is the same for a loose file and in a survey; slivers have only a hash."""

from __future__ import annotations

import dataclasses
from datetime import UTC, datetime

import numpy as np
import pytest

from triage.analysis import images
from triage.analysis.geodesy import destination, is_inside
from triage.duplicates import Fingerprint, PixelKeys, fingerprint_of, pixel_keys
from triage.duplicates.bursts import may_be_burst, near_in_time
from triage.duplicates.neighbourhood import KnownHashes, alike, questions
from triage.metadata.exif import ExifRecord
from triage.photos import Photo, identify
from triage.quality.examination import examine_content

PHOTO = Photo(sha256="a" * 64, format="JPEG", width=40, height=30, orientation=1, byte_size=9)
KEYS = PixelKeys(phash="0f" * 32, content_phash="", local_features=b"")


def texture(height: int, width: int, seed: int = 1) -> np.ndarray:
    random = np.random.default_rng(seed)
    blocks = random.integers(0, 256, (-(-height // 8), -(-width // 8), 3), dtype=np.uint8)
    return np.kron(blocks, np.ones((8, 8, 1), dtype=np.uint8))[:height, :width]


@pytest.mark.parametrize(
    ("exif", "captured"),
    [
        (ExifRecord(), ""),
        (ExifRecord(date_time_original="2026-06-01T12:00:00"), "2026-06-01T12:00:00"),
        (
            ExifRecord(date_time_original="2026-06-01T12:00:00", sub_sec_time_original="25"),
            "2026-06-01T12:00:00.25",
        ),
        (
            ExifRecord(date_time_original="2026-06-01T12:00:00", sub_sec_time_original=" x"),
            "2026-06-01T12:00:00",
        ),
        (ExifRecord(sub_sec_time_original="25"), ""),
    ],
)
def test_captured_carries_the_fraction_of_a_second_that_the_file_states(exif, captured):
    assert fingerprint_of(PHOTO, exif, KEYS).captured == captured


@pytest.mark.parametrize(
    ("exif", "count"),
    [
        (ExifRecord(), 0),
        (ExifRecord(make="Maker", model="One"), 2),
        (ExifRecord(gps_latitude=0.0, gps_longitude=0.0), 1),  # the equator is a place
        (ExifRecord(gps_altitude=0.0), 1),
        (ExifRecord(gps_instant=datetime(2026, 6, 1, tzinfo=UTC), offset_time="+02:00"), 2),
        (ExifRecord(software="editor", orientation=1), 0),  # an editor writes these as well
    ],
)
def test_metadata_fields_count_what_only_the_camera_knew(exif, count):
    assert fingerprint_of(PHOTO, exif, KEYS).metadata_fields == count


def test_the_hash_of_an_examined_photo_is_that_of_its_pixels_before_the_preview():
    content = images.as_jpeg(texture(300, 400), quality=95)
    examined = examine_content(content)
    assert examined.keys == pixel_keys(images.grey_of(images.decode(content).rgb))


@pytest.mark.parametrize(("height", "width"), [(31, 400), (400, 31), (1, 1)])
def test_a_sliver_has_a_hash_and_nothing_else(height, width):
    keys = pixel_keys(np.zeros((height, width), dtype=np.uint8))
    assert (len(keys.phash), keys.content_phash, keys.local_features) == (64, "", b"")


def test_a_photo_that_cannot_be_decoded_keeps_what_its_header_says():
    content = images.as_jpeg(texture(64, 48))[:700]
    seen = examine_content(content, file_name="cut.jpg")
    header = identify(content)
    assert seen.measurement is None
    assert "is missing" in seen.photo.problem
    assert dataclasses.replace(seen.photo, problem="") == dataclasses.replace(header, problem="")
    assert seen.keys == PixelKeys()


@pytest.mark.parametrize(
    ("later", "may_be"),
    [("12:01:00", True), ("12:01:00.90", True), ("12:01:01", False), ("12:01:01.10", False)],
)
def test_fractions_of_a_second_do_not_cut_a_burst(later, may_be):
    one = taken(1, captured="2026-06-01T12:00:00")
    two = taken(2, captured=f"2026-06-01T{later}")
    assert may_be_burst(one, two) is may_be


def taken(number: int, **changes: object) -> Fingerprint:
    random = np.random.default_rng(number)
    values: dict[str, object] = {
        "sha256": f"{number:064x}",
        "phash": random.bytes(32).hex(),
        "width": 4,
        "height": 3,
        "byte_size": 1,
    }
    return Fingerprint(**(values | changes))  # type: ignore[arg-type]


def test_a_dated_photo_asks_its_day_and_the_undated_of_its_sender_and_place():
    dated = taken(1, sender="7", captured="2026-06-01T12:00:00", decimal_latitude=53.905,
                  decimal_longitude=21.705)  # fmt: skip
    undated = taken(2, sender="8")
    of_dated, of_undated = questions([dated, undated], most=100)
    assert (of_dated.senders, of_dated.days, of_dated.undated) == ({"7"}, set(), True)
    assert of_dated.days_at == {("2026-06-01", box) for box in of_dated.boxes}
    assert of_dated.boxes == {(53.890117, 21.683262, 53.919883, 21.726738)}
    assert of_dated.limit == 50
    assert (of_undated.senders, of_undated.days, of_undated.undated) == ({"8"}, set(), False)
    assert of_undated.boxes == set()
    assert of_undated.limit == 100
    placeless, _ = questions([taken(3, captured="2026-06-01T12:00:00")], most=100)
    assert (placeless.days, placeless.days_at) == ({"2026-06-01"}, set())


@pytest.mark.parametrize("latitude", [-0.001, 53.905, -69.99])
@pytest.mark.parametrize(("radius", "metres"), [(0.0, 1000.0), (30.0, 1030.0), (3000.0, 4000.0)])
def test_the_box_around_a_place_holds_what_is_a_kilometre_and_its_radius_away(
    latitude, radius, metres
):
    place = taken(1, captured="2026-06-01", decimal_latitude=latitude, decimal_longitude=-179.999,
                  coordinate_uncertainty_in_meters=radius)  # fmt: skip
    boxes = next(questions([place], most=1)).boxes
    for bearing in range(0, 360, 15):
        there = destination(latitude, -179.999, azimuth_degrees=bearing, metres=metres)
        assert any(is_inside(*there, box) for box in boxes)
    assert not any(is_inside(latitude - 0.1, 179.9, box) for box in boxes)


def test_a_doubted_place_is_none_and_a_sure_one_has_its_radius():
    sure = ExifRecord(gps_latitude=53.90001, gps_longitude=21.70001, gps_h_positioning_error=8.0)
    one = fingerprint_of(PHOTO, sure, KEYS)
    assert (one.decimal_latitude, one.decimal_longitude) == (53.90001, 21.70001)
    assert one.coordinate_uncertainty_in_meters == 16.0
    for said in ({"gps_latitude": 0.0, "gps_longitude": 0.0}, {"gps_status": "V"}):
        doubted = fingerprint_of(PHOTO, dataclasses.replace(sure, **said), KEYS)
        assert (doubted.decimal_latitude, doubted.coordinate_uncertainty_in_meters) == (None, 0.0)


def test_only_what_was_taken_within_a_burst_of_something_new_may_be_a_frame_of_it():
    new = [
        taken(number, captured=f"2026-06-{when}")
        for number, when in enumerate(("30T23:59:50", "30T08:00:00", "10"))
    ]
    times = {
        "2026-07-01T00:00:50.9": True,  # 60 whole seconds later, past midnight
        "2026-06-30T08:00:00": True,
        "2026-06-30T07:58:50": False,
        "2026-06-30T12:00:00": False,
        "2026-13-01T08:00:00": False,  # no calendar has it
        "": False,
    }
    old = [taken(10 + number, captured=one) for number, one in enumerate(times)]
    assert [one in near_in_time(new, old) for one in old] == list(times.values())
    assert near_in_time([taken(1)], old) == []


def test_nobody_asks_where_there_is_nothing_new():
    assert all(not (q.senders or q.boxes or q.days) for q in questions([], most=10))


def test_alike_finds_the_same_hash_with_or_without_borders_and_no_stranger():
    new, stranger = taken(1), taken(2)
    flat = taken(3, phash="0" * 64)
    codes = {"a" * 64: new.phash, "b" * 64: stranger.phash, "c" * 64: "ff0" * 21 + "f"}
    known = KnownHashes(
        "".join([*codes, "b" * 64]), "".join([*codes.values(), new.phash])
    )  # the second has the new one inside its borders
    assert alike([new], known) == {"a" * 64, "b" * 64}
    assert alike([flat], KnownHashes("d" * 64, "0" * 64)) == set()  # a picture without structure
    turned = int("1248" * 16, 16) | int("2000" * 8 + "0" * 32, 16)  # 72 bits, of all kinds
    far = f"{int(new.phash, 16) ^ turned:064x}"
    assert alike([new], KnownHashes("d" * 64, far)) == set()
    assert alike([new], KnownHashes("d" * 64, far), nearby={"d" * 64}) == {"d" * 64}
    assert alike([new], KnownHashes("", "")) == set()
