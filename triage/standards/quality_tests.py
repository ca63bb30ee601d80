"""Run the published data-quality tests of single Darwin Core records.

TDWG Biodiversity Data Quality Interest Group, Task Group 2: Data Quality Tests and Assertions
(2026, draft standard). Labels, responses and defaults are theirs; which tests apply to our fields,
and why the others don't, stands in docs/metadata.md.
"""

from __future__ import annotations

import contextlib
import re
from calendar import isleap
from collections.abc import Callable, Mapping
from datetime import UTC, date, datetime, timedelta

from triage.standards.data_files import toml_of
from triage.standards.iso_dates import date_span

Record = Mapping[str, str]  # Darwin Core term without prefix -> value

EARLIEST_DATE = date(1582, 11, 15)  # default parameter of the tests
GREATEST_UNCERTAINTY = 20_037_509  # metres, the same


_WORDS = {
    name: frozenset(words.split())
    for name, words in toml_of("triage.standards", "vocabularies.toml")["quality_tests"].items()
}
_LICENCE = re.compile(
    r"https?://creativecommons\.org/"
    r"(?:licenses/by(?:-sa|-nc|-nc-sa|-nd|-nc-nd)?/4\.0/|publicdomain/zero/1\.0/)"
    r"(?:(?:deed|legalcode)(?:\.[a-z]{2}(?:-[a-z]+)?)?)?"
)

Test = Callable[[Record, date], bool | None]
"""A validation of a record: whether it complies; None where what it asks about is not there.

The date is the last valid day (their default: the end of the current year).
"""


def shortcomings(record: Record, *, latest: date) -> tuple[str, ...]:
    """The published labels of all validations that a record does not pass."""
    return tuple(label for label, test in TESTS.items() if test(record, latest) is False)


def _value(record: Record, term: str) -> str:
    """Return a value; empty if it holds only blanks and control characters (their bdqval:Empty)."""
    return (record.get(term) or "").strip("".join(map(chr, range(0x21))))


def _not_empty(*terms: str) -> Test:
    return lambda record, latest: any(_value(record, term) for term in terms)


def _standard(term: str, passes: Callable[[str], bool]) -> Test:
    def test(record: Record, latest: date) -> bool | None:
        value = _value(record, term)
        return passes(value) if value else None

    return test


def _listed(term: str, vocabulary: str, *, lower: bool = False) -> Test:
    words = _WORDS[vocabulary]
    return _standard(term, lambda text: (text.lower() if lower else text) in words)


def _number(text: str) -> float | None:
    return float(text) if re.fullmatch(r"[+-]?\d+(\.\d*)?([eE][+-]?\d+)?", text) else None


def _in_range(term: str, least: float, most: float) -> Test:
    def test(record: Record, latest: date) -> bool | None:
        number = _number(_value(record, term))
        return None if number is None else least <= number <= most

    return test


def _coordinates_not_zero(record: Record, latest: date) -> bool | None:
    numbers = [_number(_value(record, term)) for term in ("decimalLatitude", "decimalLongitude")]
    return None if None in numbers else any(numbers)


def _date_in_range(record: Record, latest: date) -> bool | None:
    span = date_span(_value(record, "eventDate"))
    if span is None:
        return None
    within = span.start >= _moment(EARLIEST_DATE)
    return within and span.end <= _moment(latest + timedelta(days=1))


def _moment(day: date) -> datetime:
    return datetime(day.year, day.month, day.day, tzinfo=UTC)


def _date_consistent(record: Record, latest: date) -> bool | None:
    """Compare year, month, day and days of the year with eventDate, each where it is given."""
    terms = ("year", "month", "day", "startDayOfYear", "endDayOfYear")
    given = {term: _value(record, term) for term in terms if _value(record, term)}
    text = _value(record, "eventDate")
    span = date_span(text)
    if span is None or not given:
        return None
    stated = _stated(text)
    return all(stated.get(term) == _integer(value) for term, value in given.items())


def _integer(text: str) -> int | None:
    return int(text) if re.fullmatch(r"\d{1,4}", text) else None


def _stated(text: str) -> dict[str, int]:
    """Return the parts of a date that both ends of it share, and its days of the year."""
    first, _, last = text.partition("/")
    start, end = date_span(first), date_span(text)
    if start is None or end is None:
        return {}
    last_moment = date_span(last) if last else start
    closing = (last_moment or end).start
    parts = {}
    shared = True
    for unit, a, b in (
        ("year", start.start.year, closing.year),
        ("month", start.start.month, closing.month),
        ("day", start.start.day, closing.day),
    ):
        known = unit == "year" or (unit == "month" and start.finest != "year")
        known = known or (unit == "day" and start.finest not in ("year", "month"))
        shared = shared and known and a == b
        if shared:
            parts[unit] = a
    if start.finest not in ("year", "month"):
        parts["startDayOfYear"] = start.start.timetuple().tm_yday
        parts["endDayOfYear"] = closing.timetuple().tm_yday
    return parts


def _identified_in_range(record: Record, latest: date) -> bool | None:
    identified = date_span(_value(record, "dateIdentified"))
    event_text = _value(record, "eventDate")
    event = date_span(event_text)
    if identified is None or (event_text and event is None):
        return None
    in_window = identified.start >= _moment(EARLIEST_DATE) and identified.start.date() <= latest
    return in_window and (event is None or identified.end > event.start)


def _datum_standard(text: str) -> bool:
    """Accept ``not recorded`` and EPSG codes of a geographic system, a datum or an ellipsoid."""
    if text == "not recorded":
        return True
    if not re.fullmatch(r"EPSG:\d{4,5}", text):
        return False
    from pyproj.crs import CRS, Datum, Ellipsoid
    from pyproj.exceptions import CRSError

    code = text.removeprefix("EPSG:")
    with contextlib.suppress(CRSError):
        return bool(CRS.from_authority("EPSG", code).is_geographic)
    for kind in (Datum, Ellipsoid):
        with contextlib.suppress(CRSError):
            kind.from_authority("EPSG", code)
            return True
    return False


def _day_in_range(record: Record, latest: date) -> bool | None:
    day = _integer(_value(record, "day"))
    if day is None:
        return None
    month, year = _integer(_value(record, "month")), _integer(_value(record, "year"))
    try:
        # Without a year a leap one, without a month one of 31 days: only the impossible fails.
        date(year or 2000, month or 1, day)
    except ValueError:
        return False
    return True


def _year_in_range(record: Record, latest: date) -> bool | None:
    year = _integer(_value(record, "year"))
    return None if year is None else EARLIEST_DATE.year <= year <= latest.year


def _day_of_year(term: str) -> Test:
    """Return the test of a day of the year; 366 needs a leap year, and a year to know that by."""

    def test(record: Record, latest: date) -> bool | None:
        text = _value(record, term)
        span = date_span(_value(record, "eventDate"))
        year = _integer(_value(record, "year")) or (span.start.year if span else None)
        if term == "endDayOfYear" and span:
            year = (span.end - timedelta(seconds=1)).year
        number = _integer(text)
        if not text or (number == 366 and year is None):
            return None
        return number is not None and 1 <= number <= (366 if year and isleap(year) else 365)

    return test


def _name_consistent(record: Record, latest: date) -> bool | None:
    """Look for generic name and epithets where scientificName has them."""
    words = _value(record, "scientificName").split()
    generic, specific, infraspecific = (
        _value(record, term) for term in ("genericName", "specificEpithet", "infraspecificEpithet")
    )
    if not words or not (generic or specific or infraspecific):
        return None
    return (
        generic in ("", words[0])
        and specific in ("", *words[1:2])
        and infraspecific in ("", *words[2:])
    )


def _whole(least: int, most: int) -> Callable[[str], bool]:
    def passes(text: str) -> bool:
        number = _integer(text)
        return number is not None and least <= number <= most

    return passes


TESTS: dict[str, Test] = {
    "VALIDATION_OCCURRENCEID_NOTEMPTY": _not_empty("occurrenceID"),
    "VALIDATION_BASISOFRECORD_NOTEMPTY": _not_empty("basisOfRecord"),
    "VALIDATION_BASISOFRECORD_STANDARD": _standard(
        "basisOfRecord", _WORDS["basis_of_record"].__contains__
    ),
    "VALIDATION_OCCURRENCESTATUS_NOTEMPTY": _not_empty("occurrenceStatus"),
    "VALIDATION_OCCURRENCESTATUS_STANDARD": _listed("occurrenceStatus", "occurrence_status"),
    "VALIDATION_DCTYPE_NOTEMPTY": _not_empty("type"),
    "VALIDATION_DCTYPE_STANDARD": _listed("type", "type"),
    "VALIDATION_LICENCE_NOTEMPTY": _not_empty("license"),
    "VALIDATION_LICENCE_STANDARD": _standard(
        "license", lambda text: _LICENCE.fullmatch(text) is not None
    ),
    "VALIDATION_SEX_STANDARD": _listed("sex", "sex", lower=True),
    "VALIDATION_SCIENTIFICNAME_NOTEMPTY": _not_empty("scientificName"),
    "VALIDATION_POLYNOMIAL_CONSISTENT": _name_consistent,
    "VALIDATION_KINGDOM_NOTEMPTY": _not_empty("kingdom"),
    "VALIDATION_TAXON_NOTEMPTY": _not_empty(*_WORDS["taxon_terms"]),
    "VALIDATION_TAXONRANK_NOTEMPTY": _not_empty("taxonRank"),
    "VALIDATION_TAXONRANK_STANDARD": _listed("taxonRank", "taxon_rank", lower=True),
    "VALIDATION_EVENTDATE_NOTEMPTY": _not_empty("eventDate"),
    "VALIDATION_EVENTDATE_STANDARD": _standard(
        "eventDate", lambda text: date_span(text) is not None
    ),
    "VALIDATION_EVENTDATE_INRANGE": _date_in_range,
    "VALIDATION_EVENTDATE_CONSISTENT": _date_consistent,
    "VALIDATION_YEAR_NOTEMPTY": _not_empty("year"),
    "VALIDATION_YEAR_INRANGE": _year_in_range,
    "VALIDATION_MONTH_STANDARD": _standard("month", _whole(1, 12)),
    "VALIDATION_DAY_STANDARD": _standard("day", _whole(1, 31)),
    "VALIDATION_DAY_INRANGE": _day_in_range,
    "VALIDATION_STARTDAYOFYEAR_INRANGE": _day_of_year("startDayOfYear"),
    "VALIDATION_ENDDAYOFYEAR_INRANGE": _day_of_year("endDayOfYear"),
    "VALIDATION_EVENT_TEMPORAL_NOTEMPTY": _not_empty(*_WORDS["event_terms"]),
    "VALIDATION_DATEIDENTIFIED_STANDARD": _standard(
        "dateIdentified", lambda text: date_span(text) is not None
    ),
    "VALIDATION_DATEIDENTIFIED_INRANGE": _identified_in_range,
    "VALIDATION_LOCATION_NOTEMPTY": _not_empty(*_WORDS["location_terms"]),
    "VALIDATION_DECIMALLATITUDE_NOTEMPTY": _not_empty("decimalLatitude"),
    "VALIDATION_DECIMALLATITUDE_INRANGE": _in_range("decimalLatitude", -90, 90),
    "VALIDATION_DECIMALLONGITUDE_NOTEMPTY": _not_empty("decimalLongitude"),
    "VALIDATION_DECIMALLONGITUDE_INRANGE": _in_range("decimalLongitude", -180, 180),
    "VALIDATION_COORDINATES_ZERO": _coordinates_not_zero,
    "VALIDATION_COORDINATEUNCERTAINTY_INRANGE": _in_range(
        "coordinateUncertaintyInMeters", 1, GREATEST_UNCERTAINTY
    ),
    "VALIDATION_GEODETICDATUM_NOTEMPTY": _not_empty("geodeticDatum"),
    "VALIDATION_GEODETICDATUM_STANDARD": _standard("geodeticDatum", _datum_standard),
}
