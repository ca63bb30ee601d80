"""Which word on a camera's clock is offered for another of its photos."""

from __future__ import annotations

import pytest

from triage.metadata.carried_clock import PutRight, may_be_one_camera, words_on
from triage.metadata.exif import ExifRecord


def photo(day: str, *, model: str = "M-1", serial: str = "") -> ExifRecord:
    return ExifRecord(
        date_time_original=f"2025-{day}T12:00:00", model=model, body_serial_number=serial
    )


def word(day: str, seconds: float, *, action: int = 1, model: str = "M-1") -> PutRight:
    exif = photo(day, model=model)
    return PutRight(exif=exif, offset_seconds=seconds, action=action, message="another")


@pytest.mark.parametrize(
    ("known", "offered"),
    [
        ([], []),
        ([word("06-01", 60)], [60]),
        ([word("06-01", 60), word("06-09", 60)], [60]),
        ([word("06-01", 60), word("06-16", 30)], [30, 60]),
        ([word("06-01", 60), word("06-10", 30)], [30]),  # both before: the last of them
        ([word("06-20", 60), word("06-30", 30)], [60]),  # both after: the first of them
        ([word("06-01", 60), word("06-10", 0)], []),  # it was right since
        ([word("06-01", 60), word("06-20", 0)], [60]),  # set right at a time that nobody knows
        ([word("06-10", 60), word("06-10", 0, action=2)], []),  # the newest word of one moment
        ([word("06-20", 60, action=2), word("06-20", 0)], [60]),
        ([word("06-01", 60, model="M-2")], []),
    ],
)
def test_the_last_word_before_and_the_first_after_by_the_cameras_own_clock(known, offered):
    found = words_on(photo("06-15"), known)
    assert [one.offset_seconds for one in found] == offered
    assert words_on(photo("06-15"), known[::-1]) == found


@pytest.mark.parametrize(
    ("other", "same"),
    [
        (photo("06-01"), True),
        (photo("06-01", serial="7"), True),
        (photo("06-01", serial="8"), False),
        (photo("06-01", model="m-1"), False),
        (ExifRecord(make="Maker", model="M-1"), False),
    ],
)
def test_a_camera_is_told_by_make_model_and_serial_number(other, same):
    one = photo("06-15", serial="7")
    assert may_be_one_camera(one, other) is same
    assert may_be_one_camera(other, one) is same


def test_a_file_without_a_time_is_offered_nothing():
    assert words_on(ExifRecord(model="M-1"), [word("06-01", 60)]) == ()
