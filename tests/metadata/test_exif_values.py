"""Single values of Exif tags, as the standard has them and as writers get them wrong.

Expected values are worked out by hand from Exif 2.3 (CIPA DC-008-2012): 4.6.5 DateTime and offsets,
4.6.6 GPS tags, character codes of UNDEFINED text.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from fractions import Fraction
from types import SimpleNamespace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.metadata import exif_values as values


def ratio(numerator: int, denominator: int) -> SimpleNamespace:
    """A fraction as the readers give it, a zero denominator included."""
    return SimpleNamespace(numerator=numerator, denominator=denominator)


UNKNOWN = ratio(0, 0)


@pytest.mark.parametrize(
    ("raw", "text"),
    [
        ("Canon\0rest", "Canon"),
        (b" NIKON CORPORATION \0", "NIKON CORPORATION"),
        ("Zażółć".encode(), "Zażółć"),
        (b"M\xfcller", "Müller"),  # no UTF-8: read as Windows-1252
        ([67, 97, 110, 0, 33], "Can"),
        (["first", "second"], "first"),
        ([], ""),
    ],
)
def test_text_ends_at_its_first_nul_whatever_its_type(raw: object, text: str):
    assert values.text_of(raw) == text


@pytest.mark.parametrize("raw", [None, 7, 1.5])
def test_what_is_no_text_is_refused(raw: object):
    with pytest.raises(ValueError, match="not text"):
        values.text_of(raw)


@pytest.mark.parametrize(
    ("raw", "text"),
    [
        (b"ASCII\0\0\0Alder Pool", "Alder Pool"),
        (b"UNICODE\0" + "Łąka".encode("utf-16-le"), "Łąka"),
        (b"UNICODE\0" + "AB".encode("utf-16-be"), "AB"),
        (b"\0\0\0\0\0\0\0\0undefined", "undefined"),
        (b"no code at all", "no code at all"),
        ("ASCII\0\0\0as text", "as text"),
        (list(b"ASCII\0\0\0numbers\0more"), "numbers"),
    ],
)
def test_a_character_code_of_eight_bytes_is_read(raw: object, text: str):
    assert values.prefixed_text(raw) == text


@pytest.mark.parametrize(
    ("raw", "number"),
    [
        (Fraction(3, 2), 1.5),
        (ratio(-3, 2), -1.5),
        ([ratio(30, 100)], 0.3),
        ("12.5", 12.5),
        (7, 7.0),
        (UNKNOWN, None),
        ([UNKNOWN], None),
    ],
)
def test_a_number_is_finite_or_unknown(raw: object, number: float | None):
    assert values.number_of(raw) == number


@pytest.mark.parametrize("raw", [[1, 2], [], "nan", "inf", "wide", float("inf")])
def test_what_is_no_single_finite_number_is_refused(raw: object):
    with pytest.raises((ValueError, TypeError)):
        values.number_of(raw)


def test_a_division_by_zero_is_not_understood():
    with pytest.raises(ZeroDivisionError):
        values.number_of(ratio(1, 0))


@pytest.mark.parametrize("raw", [UNKNOWN, Fraction(1, 2), "1.5"])
def test_half_a_number_is_no_whole_one(raw: object):
    with pytest.raises(ValueError, match="whole"):
        values.integer(raw)


@pytest.mark.parametrize(
    ("raw", "below"), [(b"\x01", 1), (b"\x00", 0), (b"1", 1), (1, 1), ("0", 0)]
)
def test_the_altitude_reference_is_a_byte_or_a_digit(raw: object, below: int):
    assert values.altitude_reference(raw) == below


@pytest.mark.parametrize(
    ("raw", "parts"),
    [
        ([53, 54, Fraction(3045, 100)], (53.0, 54.0, 30.45)),
        ([Fraction(539, 10)], (53.9, 0.0, 0.0)),
        ([53, Fraction(545, 10)], (53.0, 54.5, 0.0)),
        ([53, 54, 30, 99], (53.0, 54.0, 30.0)),
        (Fraction(1, 2), (0.5, 0.0, 0.0)),
        ([UNKNOWN, UNKNOWN, UNKNOWN], None),
    ],
)
def test_degrees_minutes_and_seconds_may_be_left_out_from_the_end(raw: object, parts: object):
    assert values.sexagesimal(raw) == parts


@pytest.mark.parametrize("raw", [[53, UNKNOWN, 10], [UNKNOWN, 54, 10], [53, 54, UNKNOWN]])
def test_one_unknown_part_leaves_the_place_open(raw: object):
    with pytest.raises(ValueError, match="unknown"):
        values.sexagesimal(raw)


@pytest.mark.parametrize(
    ("raw", "since_midnight"),
    [
        ([10, 20, 30], timedelta(hours=10, minutes=20, seconds=30)),
        ([10, 20, Fraction(61, 2)], timedelta(hours=10, minutes=20, seconds=30.5)),
        ([23, 59, 60], timedelta(hours=24)),  # a leap second
        ([10], timedelta(hours=10)),
        ([UNKNOWN, UNKNOWN, UNKNOWN], None),
        ([], None),
    ],
)
def test_the_time_of_a_fix_counts_from_midnight(raw: object, since_midnight: timedelta | None):
    assert values.time_of_day(raw) == since_midnight


@pytest.mark.parametrize("raw", [[25, 0, 0], [10, 60, 0], [10, 0, 61], [-1, 0, 0]])
def test_an_hour_that_no_clock_shows_is_refused(raw: object):
    with pytest.raises(ValueError, match="time of day"):
        values.time_of_day(raw)


@pytest.mark.parametrize(
    ("raw", "date", "offset"),
    [
        ("2026:06:14 12:01:02", "2026-06-14T12:01:02", ""),
        ("2026-06-14T12:01:02+02:00", "2026-06-14T12:01:02", "+02:00"),
        ("2026:06:14 12:01", "2026-06-14T12:01:00", ""),
        ("2026/6/4 2:1:2.75Z", "2026-06-04T02:01:02", "+00:00"),
    ],
)
def test_a_date_is_local_and_its_offset_stands_apart(raw: str, date: str, offset: str):
    assert values.date_and_offset(raw) == (date, offset)


@pytest.mark.parametrize("raw", ["    :  :     :  :  ", "", ":::", "\0"])
def test_blanks_with_colons_are_no_date(raw: str):
    assert values.date_and_offset(raw) is None
    assert values.day(raw) is None
    assert values.offset(raw) is None


@pytest.mark.parametrize(
    "raw",
    ["1825:12:31 10:00:00", "2200:01:01 10:00:00", "2026:02:30 10:00:00", "14 June", "2026:06:14"],
)
def test_a_date_no_photograph_has_is_refused(raw: str):
    with pytest.raises(ValueError):  # noqa: PT011  (datetime's own words for 30 February)
        values.date_and_offset(raw)


def test_the_first_and_the_last_year_are_years_of_photographs():
    assert values.date_and_offset("1826:01:01 00:00:00") == ("1826-01-01T00:00:00", "")
    assert values.date_and_offset("2199:12:31 23:59:59") == ("2199-12-31T23:59:59", "")


def test_a_fix_is_of_a_day_since_the_system_began():
    assert values.day("2026:06:14") == datetime(2026, 6, 14, tzinfo=UTC)
    assert values.day("1980-01-06") == datetime(1980, 1, 6, tzinfo=UTC)
    with pytest.raises(ValueError, match="fix"):
        values.day("1979:12:31")
    with pytest.raises(ValueError, match="not a date"):
        values.day("yesterday")


@pytest.mark.parametrize(
    ("raw", "offset"),
    [("+2:00", "+02:00"), ("-0930", "-09:30"), ("\u22125:00", "-05:00"), ("z", "+00:00")],
)
def test_an_offset_is_written_one_way(raw: str, offset: str):
    assert values.offset(raw) == offset


@pytest.mark.parametrize("raw", ["+15:00", "+02:60", "2", "summer"])
def test_an_offset_that_no_zone_has_is_refused(raw: str):
    with pytest.raises(ValueError, match="offset"):
        values.offset(raw)


@given(st.integers(-14 * 60, 14 * 60))
def test_a_written_offset_is_read_as_it_is(minutes: int):
    text = f"{'-' if minutes < 0 else '+'}{abs(minutes) // 60:02d}:{abs(minutes) % 60:02d}"
    assert values.offset(text) == text


def test_a_fraction_of_a_second_is_its_digits():
    assert values.sub_sec("042 ") == "042"
    assert values.sub_sec(7) == "7"
    assert values.sub_sec("") is None
    for wrong in ("4.2", "-1", "1234567890123"):
        with pytest.raises(ValueError, match="digits"):
            values.sub_sec(wrong)


@pytest.mark.parametrize(
    ("raw", "step"),
    [
        ([ratio(53, 1), ratio(54, 1), ratio(3045, 100)], 1 / 360_000),
        ([ratio(53, 1), ratio(5475, 100)], 1 / 6_000),
        ([ratio(539, 10)], 0.1),
        ([Fraction(53), Fraction(54), Fraction(0)], 1 / 60),  # no seconds written
        ([UNKNOWN], None),
    ],
)
def test_the_smallest_step_is_that_of_the_finest_part(raw: object, step: float | None):
    assert values.step(raw) == (None if step is None else pytest.approx(step))
