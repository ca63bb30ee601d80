"""One correction for one camera, on a published set of files and on made ones."""

from datetime import UTC, datetime, timedelta

import pytest

from triage.metadata.camera_clock import (
    CameraTime,
    camera_corrections,
    signed_duration,
)
from triage.metadata.exif import ExifRecord

# Nine files of one camera in a public set (exif-samples, jpg/gps): DateTimeOriginal on 2008-10-22
# and GPS time (UTC) on 2008-10-23, as read from the files; taken in Italy, UTC+2 that day.
NINE_FILES = [
    ("DSCN0010", "16:28:39", "14:27:07.24"),
    ("DSCN0012", "16:29:49", "14:28:17.24"),
    ("DSCN0021", "16:38:20", "14:36:47.23"),
    ("DSCN0025", "16:43:21", "14:41:49.03"),
    ("DSCN0027", "16:44:01", "14:42:29.03"),
    ("DSCN0029", "16:46:53", "14:45:20.91"),
    ("DSCN0038", "16:52:15", "14:50:40.90"),
    ("DSCN0040", "16:55:37", "14:54:00.19"),
    ("DSCN0042", "17:00:07", "14:57:41.37"),
]


def nine() -> list[CameraTime]:
    return [
        taken(name, f"2008-10-22T{clock}", gps=f"2008-10-23T{utc}")
        for name, clock, utc in NINE_FILES
    ]


def taken(photo, clock, *, gps="", model="Pond Cam", offset=""):
    moment = datetime.fromisoformat(gps).replace(tzinfo=UTC) if gps else None
    exif = ExifRecord(
        date_time_original=clock, offset_time=offset, gps_instant=moment, make="Acme", model=model
    )
    return CameraTime(photo=photo, exif=exif)


def test_the_published_nine_files_give_one_correction_for_all():
    (found,) = camera_corrections(nine(), zone="Europe/Rome")
    assert found.offset_seconds == pytest.approx(
        timedelta(hours=23, minutes=58, seconds=28).total_seconds(), abs=1.0
    )
    assert len(found.photos) == 9
    assert found.uncertainty_seconds <= 2.0
    assert found.reason == "6 of 9 GPS fixes agree that the clock is 23 h 58 min 28 s behind"


def test_photos_without_a_fix_are_corrected_with_the_rest():
    photos = [*nine(), taken("DSCN0050", "2008-10-22T17:10:00")]
    (found,) = camera_corrections(photos, zone="Europe/Rome")
    assert "DSCN0050" in found.photos


def test_a_right_clock_needs_no_correction():
    photos = [
        taken("a", "2026-06-14T10:05:12", gps="2026-06-14T08:05:13"),
        taken("b", "2026-06-14T10:06:12", gps="2026-06-14T08:06:12"),
    ]
    assert camera_corrections(photos, zone="Europe/Warsaw") == ()


def test_old_fixes_of_a_right_clock_show_no_error():
    # Three photos after one fix: the fix is frozen, only the first photo is near it.
    gps = "2026-06-14T08:05:10"
    clocks = ["10:05:12", "10:15:12", "10:25:12"]
    photos = [taken(c, f"2026-06-14T{c}", gps=gps) for c in clocks]
    assert camera_corrections(photos, zone="Europe/Warsaw") == ()


def test_one_photo_alone_shows_no_shared_error():
    photos = [taken("a", "2026-06-13T10:05:12", gps="2026-06-14T08:05:13")]
    assert camera_corrections(photos, zone="Europe/Warsaw") == ()


def test_a_receiver_that_rolled_over_corrects_nothing():
    photos = [
        taken("a", "2026-06-14T10:05:12", gps="2006-10-29T08:05:13"),
        taken("b", "2026-06-14T10:06:12", gps="2006-10-29T08:06:13"),
    ]
    assert camera_corrections(photos, zone="Europe/Warsaw") == ()


def test_two_cameras_are_corrected_apart():
    other = [
        taken("x", "2026-06-14T09:05:12", gps="2026-06-14T08:05:12", model="Other"),
        taken("y", "2026-06-14T09:06:12", gps="2026-06-14T08:06:12", model="Other"),
    ]
    found = camera_corrections([*nine(), *other], zone="Europe/Warsaw")
    assert [(c.camera, len(c.photos)) for c in found] == [("Acme Other", 2), ("Acme Pond Cam", 9)]
    assert found[0].offset_seconds == pytest.approx(3600)


@pytest.mark.parametrize(
    ("seconds", "words"),
    [(0, "+0 s"), (59.6, "+1 min"), (-86_400, "-1 d"), (90_061, "+1 d 1 h 1 min 1 s")],
)
def test_an_error_is_told_in_days_to_seconds(seconds, words):
    assert signed_duration(seconds) == words
