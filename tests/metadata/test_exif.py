"""Exif as cameras, editors and damage leave it; values by hand from CIPA DC-008 (Exif 2.32)."""

import io
import os
import random
import struct
import tracemalloc
from datetime import UTC, datetime

import pillow_heif
import pytest
from exif_files import (
    BYTE,
    LONG,
    RATIONAL,
    SHORT,
    UNDEFINED,
    block,
    gps_place,
    jpeg,
    rationals,
    short,
    text,
)
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from triage.metadata import exif as exif_module
from triage.metadata.exif import ExifRecord, read_exif

FIRST = [text(0x010F, "Acme"), text(0x0110, "Pond Cam 3"), short(0x0112, 6)]
EXIF = [
    text(0x9003, "2026:06:14 10:05:12"),
    text(0x9011, "+02:00"),
    text(0x9291, "05"),
    text(0xA431, "SN-1"),
]
GPS = [
    *gps_place(),
    (5, BYTE, b"\1"),
    rationals(6, (1175, 10)),
    rationals(7, (8, 1), (5, 1), (1150, 100)),
    text(0x1D, "2026:06:14"),
    rationals(0x1F, (47, 10)),
    (0x1B, UNDEFINED, b"ASCII\0\0\0GPS"),
    text(0x12, "WGS-84   "),
]


def record(**directories) -> ExifRecord:
    return read_exif(jpeg(block(**directories)))


def test_a_camera_file_gives_its_fields():
    found = record(first=FIRST, exif=EXIF, gps=GPS)
    assert found.date_time_original == "2026-06-14T10:05:12"
    assert found.offset_time == "+02:00"
    assert (found.make, found.model, found.body_serial_number) == ("Acme", "Pond Cam 3", "SN-1")
    assert found.orientation == 6
    assert found.gps_latitude == pytest.approx(53 + 54 / 60 + 30.45 / 3600, abs=1e-12)
    assert found.gps_longitude == pytest.approx(21 + 42 / 60 + 10 / 3600, abs=1e-12)
    assert found.gps_altitude == pytest.approx(-117.5)
    assert found.gps_instant == datetime(2026, 6, 14, 8, 5, 11, 500_000, tzinfo=UTC)
    assert found.gps_h_positioning_error == pytest.approx(4.7)
    assert (found.gps_processing_method, found.gps_map_datum) == ("GPS", "WGS-84")
    assert found.not_understood == ()
    assert found.oddities == ()


@pytest.mark.parametrize("format_name", ["JPEG", "PNG", "WEBP", "HEIF"])
def test_every_container_gives_the_same_record(format_name):
    pillow_heif.register_heif_opener()
    held = io.BytesIO()
    exif = b"Exif\0\0" + block(first=FIRST, exif=EXIF, gps=GPS)
    Image.new("RGB", (16, 8)).save(held, format_name, exif=exif)
    assert read_exif(held.getvalue()) == record(first=FIRST, exif=EXIF, gps=GPS)


def test_a_tiff_file_is_its_own_block():
    assert read_exif(block(first=FIRST, exif=EXIF, gps=GPS)) == record(
        first=FIRST, exif=EXIF, gps=GPS
    )


def test_the_orientation_of_heic_is_the_one_that_exif_stores():
    held = io.BytesIO()
    heif = pillow_heif.from_pillow(Image.new("RGB", (16, 8)))
    heif.save(held, exif=block(first=FIRST), quality=80)
    assert read_exif(held.getvalue()).orientation == 6


def test_the_orientation_of_xmp_is_not_taken_for_that_of_exif():
    packet = (
        b"http://ns.adobe.com/xap/1.0/\0<x:xmpmeta xmlns:x='adobe:ns:meta/'><rdf:RDF "
        b"xmlns:rdf='http://www.w3.org/1999/02/22-rdf-syntax-ns#'><rdf:Description "
        b"xmlns:tiff='http://ns.adobe.com/tiff/1.0/' tiff:Orientation='8'/></rdf:RDF></x:xmpmeta>"
    )
    segment = b"\xff\xe1" + struct.pack(">H", len(packet) + 2) + packet
    assert read_exif(jpeg(block(first=[text(0x010F, "Acme")]), extra=segment)).orientation is None


@pytest.mark.parametrize(
    ("raw", "expected"),
    [
        ("2026:06:14 10:05:12", "2026-06-14T10:05:12"),
        ("2026-06-14 10:05:12", "2026-06-14T10:05:12"),
        ("2026:06:14 10:05", "2026-06-14T10:05:00"),
        ("2026:06:14 10:05:12Z", "2026-06-14T10:05:12"),
        ("٢٠٢٦:٠٦:١٤ ١٠:٠٥:١٢", "2026-06-14T10:05:12"),
        ("    :  :     :  :  ", ""),
        ("0000:00:00 00:00:00", ""),
        ("2026:13:14 10:05:12", ""),
        ("0002:11:30 00:00:00", ""),
        ("9999:12:31 23:59:59", ""),
        ("yesterday", ""),
    ],
)
def test_dates_are_read_as_they_are_written_or_not_at_all(raw, expected):
    found = record(exif=[text(0x9003, raw)])
    assert found.date_time_original == expected
    blank = not raw.replace(":", "").strip()
    assert bool(found.not_understood) == (not expected and not blank)


def test_a_date_without_its_final_nul_keeps_its_last_digit():
    found = record(exif=[text(0x9003, "2026:06:14 10:05:17", end=b"")])
    assert found.date_time_original == "2026-06-14T10:05:17"


def test_text_is_cut_at_nul_and_trimmed():
    found = record(first=[text(0x010F, b"Acme  \0garbage\xff"), text(0x0110, b"  X\0\0\0")])
    assert (found.make, found.model) == ("Acme", "X")


@pytest.mark.parametrize("digits", ["5", "05", "123"])
def test_sub_seconds_keep_their_leading_zeros(digits):
    assert record(exif=[text(0x9291, digits)]).sub_sec_time_original == digits


@pytest.mark.parametrize(
    ("raw", "expected"),
    [("+02:00", "+02:00"), ("-0530", "-05:30"), ("Z", "+00:00"), ("+2:00", "+02:00"),
     ("   :  ", ""), ("+25:00", ""), ("CEST", "")],
)  # fmt: skip
def test_offsets_are_normalised(raw, expected):
    assert record(exif=[text(0x9011, raw)]).offset_time == expected


@pytest.mark.parametrize(
    ("latitude", "expected"),
    [
        (((53, 1), (0, 0), (0, 0)), None),
        (((53, 1), (545, 10), (0, 1)), 53 + 54.5 / 60),
        (((535, 10), (0, 1), (0, 1)), 53.5),
        (((53, 1), (75, 1), (0, 1)), 54.25),
        (((53, 1),), 53.0),
        (((0, 0), (0, 0), (0, 0)), None),
        (((53, 0), (0, 1), (0, 1)), None),
        (((4294967295, 1), (0, 1), (0, 1)), None),
    ],
)
def test_coordinates_survive_odd_fractions(latitude, expected):
    found = record(gps=gps_place(lat=latitude))
    assert found.gps_latitude == (expected if expected is None else pytest.approx(expected))
    assert found.gps_longitude == pytest.approx(21.7027777777)


def test_minutes_past_sixty_are_remarked():
    found = record(gps=gps_place(lat=((53, 1), (75, 1), (0, 1))))
    assert found.oddities == ("GPSLatitude has 75 minutes and 0 seconds",)


@pytest.mark.parametrize(("reference", "sign"), [("S", -1), ("s", -1), ("South", -1), ("n", 1)])
def test_references_are_read_in_either_case(reference, sign):
    fields = [text(1, reference), *gps_place()[1:]]
    found = record(gps=fields)
    assert found.gps_latitude == pytest.approx(sign * 53.90845833)
    assert found.oddities == ()


def test_a_missing_reference_is_remarked():
    found = record(gps=gps_place()[1:])
    assert found.oddities == ("GPSLatitudeRef is missing: the sign is unknown",)


def test_an_empty_gps_directory_is_no_place():
    found = record(first=FIRST, gps=[])
    assert found.gps_latitude is None
    assert found.make == "Acme"


def test_a_time_of_day_without_a_date_is_kept_apart():
    found = record(gps=[*gps_place(), rationals(7, (14, 1), (44, 1), (9, 1))])
    assert found.gps_instant is None
    assert found.gps_time_of_day == "14:44:09"


@pytest.mark.parametrize(
    ("seconds", "step"), [((30, 1), 1 / 3600), ((3045, 100), 1 / 3600 / 20), ((0, 1), 1 / 60)]
)
def test_the_precision_of_coordinates_is_the_step_of_their_fractions(seconds, step):
    lat, lon = ((53, 1), (54, 1), seconds), ((21, 1), (42, 1), (0, 1))
    found = record(gps=gps_place(lat=lat, lon=lon))
    assert found.gps_coordinate_precision == pytest.approx(step)


def test_a_bad_tag_costs_that_tag_alone():
    bad = (0x9291, RATIONAL, struct.pack("<II", 1, 0))
    found = record(first=[*FIRST[:2], (0x0112, UNDEFINED, b"up")], exif=[*EXIF[:2], bad], gps=GPS)
    assert found.date_time_original == "2026-06-14T10:05:12"
    assert found.orientation is None
    assert found.gps_latitude == pytest.approx(53.90845833)
    assert {remark.split(":")[0] for remark in found.not_understood} == {
        "Orientation",
        "SubSecTimeOriginal",
    }


def test_an_orientation_that_exif_does_not_know_is_kept_and_remarked():
    found = record(first=[short(0x0112, 9)])
    assert found.orientation == 9
    assert found.oddities == ("Orientation is 9, Exif knows 1 to 8",)


def test_the_second_reader_gives_what_the_first_would(monkeypatch):
    expected = record(first=FIRST, exif=EXIF, gps=GPS)

    def fails(_):
        raise IndexError

    monkeypatch.setattr(exif_module, "_by_exifread", fails)
    found = record(first=FIRST, exif=EXIF, gps=GPS)
    assert found.not_understood == ("Exif block: first reader failed (IndexError), second used",)
    for field in ("date_time_original", "gps_latitude", "gps_instant", "orientation", "make",
                  "gps_altitude", "gps_processing_method", "offset_time"):  # fmt: skip
        assert getattr(found, field) == getattr(expected, field), field


def test_exif_over_one_segment_is_joined():
    whole = block(first=FIRST, exif=[text(0x9286, b"x" * 70_000), *EXIF])
    head, tail = whole[:60_000], whole[60_000:]
    body = b"Exif\0\0" + head
    first_segment = b"\xff\xe1" + struct.pack(">H", len(body) + 2) + body
    content = jpeg(tail, extra=first_segment)
    assert read_exif(content).date_time_original == "2026-06-14T10:05:12"


@pytest.mark.parametrize(
    "content", [b"", b"\xff\xd8", b"GIF89a", b"II*\0", b"\x89PNG\r\n\x1a\n", b"RIFF\0\0\0\0WEBP",
                b"\0\0\0\x18ftypheic", b"no picture at all", b"MM\0*\0\0\0\0"],
)  # fmt: skip
def test_what_has_no_exif_gives_an_empty_record(content):
    found = read_exif(content)
    assert (found.date_time_original, found.gps_latitude, found.make) == ("", None, "")


HEADS = [
    b"",
    b"\xff\xd8\xff\xe1\0\x60Exif\0\0II*\0",
    b"II*\0\x08\0\0\0",
    b"MM\0*\0\0\0\x08",
    b"\0\0\0\x18ftypheic",
    b"RIFF\0\0\0\0WEBPEXIF",
]


@given(st.binary(max_size=200), st.sampled_from(HEADS))
def test_no_bytes_raise(tail, head):
    assert isinstance(read_exif(head + tail), ExifRecord)


def _mutants(count):
    rng = random.Random(20_260_614)
    seeds = [jpeg(block(first=FIRST, exif=EXIF, gps=GPS)), block(first=FIRST, exif=EXIF, gps=GPS)]
    held = io.BytesIO()
    pillow_heif.from_pillow(Image.new("RGB", (16, 8))).save(held, exif=block(exif=EXIF, gps=GPS))
    seeds.append(held.getvalue())
    for number in range(count):
        mutant = bytearray(seeds[number % len(seeds)])
        for _ in range(rng.choice([1, 3, 12, 60])):
            mutant[rng.randrange(min(len(mutant), 900))] = rng.choice(
                [0, 127, 255, rng.randrange(256)]
            )
        if rng.random() < 0.2:
            del mutant[rng.randrange(1, len(mutant)) :]
        yield bytes(mutant)


def test_mutants_of_camera_files_are_read_without_error():
    for mutant in _mutants(int(os.environ.get("TRIAGE_MUTANTS", "300"))):
        assert isinstance(read_exif(mutant), ExifRecord)


def _endless_directory(size: int) -> bytes:
    """Every entry claims text as long as the file; the directory points at itself as the next."""
    entries = (size - 20) // 12
    entry = struct.pack("<HHII", 0x010F, 2, size, 0)
    return b"II*\0" + struct.pack("<IH", 8, min(entries, 65_535)) + entry * entries


def _nested_directories(size: int) -> bytes:
    """Every entry is a pointer to a GPS directory of rationals at the same place."""
    entries = (size - 20) // 12
    entry = struct.pack("<HHII", 0x8825, LONG, 1, 8)
    return b"II*\0" + struct.pack("<IH", 8, min(entries, 65_535)) + entry * entries


def _long_rationals(size: int) -> bytes:
    entries = (size - 20) // 12
    entry = struct.pack("<HHII", 0x0110, RATIONAL, 999, 0)
    return b"II*\0" + struct.pack("<IH", 8, min(entries, 65_535)) + entry * entries


@pytest.mark.parametrize("make", [_endless_directory, _nested_directories, _long_rationals])
def test_a_directory_made_to_exhaust_its_reader_is_left_within_memory(make):
    content = make(1_000_000)
    tracemalloc.start()
    found = read_exif(content)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert isinstance(found, ExifRecord)
    assert peak < 64 * 1024 * 1024


def test_a_short_orientation_is_read_in_either_byte_order():
    little = block(first=[(0x0112, SHORT, struct.pack("<H", 3))])
    big = b"MM\0*" + struct.pack(">IHHHIHH", 8, 1, 0x0112, SHORT, 1, 3, 0) + b"\0\0\0\0"
    assert read_exif(little).orientation == read_exif(big).orientation == 3
