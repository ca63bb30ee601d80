"""Find the IANA zone, summer time and span of a place or a local time."""

from __future__ import annotations

import atexit
import functools
import re
import warnings
from datetime import UTC, date, datetime, time, timedelta
from typing import Any, Literal
from zoneinfo import ZoneInfo

CLOCK_TIME = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d(:\d\d)?(Z|[+-]\d\d:\d\d)?")


def time_span(event_date: str, zone: str) -> tuple[datetime, datetime]:
    """Return the aware start and end of an event date; a local time or day is read in ``zone``.

    A time to the second or minute spans that second or minute, a day its 23 to 25 hours.
    Raises ValueError for what is not ISO 8601 as this module writes it.

    >>> [t.isoformat() for t in time_span("2026-06-13/2026-06-14", "Europe/Warsaw")]
    ['2026-06-13T00:00:00+02:00', '2026-06-15T00:00:00+02:00']
    """
    first, _, last = event_date.partition("/")
    start, end = _one_span(first, zone)
    return (start, _one_span(last, zone)[1]) if last else (start, end)


def _one_span(text: str, zone: str) -> tuple[datetime, datetime]:
    local = ZoneInfo(zone) if zone else UTC
    if re.fullmatch(r"\d{4}-\d\d-\d\d", text):
        day = date.fromisoformat(text)
        start = datetime.combine(day, time(), tzinfo=local)
        return start, datetime.combine(day + timedelta(days=1), time(), tzinfo=local)
    if not CLOCK_TIME.fullmatch(text):
        raise ValueError(f"{text} is not a day or a clock time")
    start = datetime.fromisoformat(text)
    start = start if start.tzinfo else start.replace(tzinfo=local)
    to_the_second = re.match(r".{16}:\d\d", text) is not None
    return start, start + timedelta(seconds=1 if to_the_second else 60)


@functools.cache
def _zone_finder() -> Any:
    from timezonefinder import TimezoneFinder

    finder = TimezoneFinder()
    atexit.register(_close, finder)
    return finder


def _close(finder: Any) -> None:
    # The library leaves its mapped files to the collector, which warns at the interpreter's end.
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ResourceWarning)
        finder.cleanup()


def zone_at(latitude: float | None, longitude: float | None) -> str:
    """Return the IANA zone at a place, from data on disk; nothing at sea or where none is told."""
    if latitude is None or longitude is None or (latitude == 0 and longitude == 0):
        return ""
    if not (-90 <= latitude <= 90 and -180 <= longitude <= 180):
        return ""
    return str(_zone_finder().timezone_at_land(lat=latitude, lng=longitude) or "")


def summer_time(local: datetime, zone: str) -> Literal["once", "twice", "gap"]:
    """Tell whether a local time exists once, twice or not at all in a zone (PEP 495)."""
    if not zone:
        return "once"
    place = ZoneInfo(zone)
    early = local.replace(tzinfo=place, fold=0)
    late = local.replace(tzinfo=place, fold=1)
    if early.utcoffset() == late.utcoffset():
        return "once"
    back = early.astimezone(UTC).astimezone(place).replace(tzinfo=None)
    return "twice" if back == local.replace(fold=0) else "gap"
