"""Read moments as they are kept, and spans of Darwin Core dates (ISO 8601-1:2019)."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, timezone


def moment_of(text: str) -> datetime | None:
    """A moment or day as it is kept, with its offset; UTC where none is known, None for nothing.

    A date with the zone ``-0000`` is UTC by RFC 5322 section 3.3: only the sender's zone is
    unknown.

    >>> moment_of("2026-06-14T12:00:00").isoformat()
    '2026-06-14T12:00:00+00:00'
    >>> moment_of("9999-12-31T23:59:59-12:00")
    """
    moment = within_the_calendar(datetime.fromisoformat(text)) if text else None
    return moment if not moment or moment.tzinfo else moment.replace(tzinfo=UTC)


def within_the_calendar(moment: datetime) -> datetime | None:
    """A moment that has a day before and after it, as other zones need; None for any other.

    >>> within_the_calendar(datetime(9999, 12, 31, 23, 59))
    """
    return moment if 1 < moment.year < 9999 else None


def earliest_first(text: str) -> tuple[bool, datetime]:
    """What moments are sorted by, in whatever zone each is written; nothing comes last.

    >>> min("2026-07-02T20:00:00+00:00", "2026-07-02T21:00:00+02:00", "", key=earliest_first)
    '2026-07-02T21:00:00+02:00'
    """
    moment = moment_of(text)
    return moment is None, moment or datetime.max.replace(tzinfo=UTC)


@dataclass(frozen=True, slots=True, kw_only=True)
class DateSpan:
    """What a date covers: first moment and the first after it; ``finest`` is its finest unit."""

    start: datetime
    end: datetime
    finest: str  # year, month, day, hour, minute or second

    @property
    def seconds(self) -> float:
        """Length in seconds."""
        return (self.end - self.start).total_seconds()


_DATE = re.compile(
    r"(?P<y>\d{4})(?:-(?P<o>\d{3})|-W(?P<w>\d\d)-(?P<wd>[1-7])|-(?P<m>\d\d)(?:-(?P<d>\d\d))?)?"
    r"(?:T(?P<H>\d\d)(?::?(?P<M>\d\d)(?::?(?P<S>\d\d)(?:[.,](?P<f>\d+))?)?)?"
    r"(?P<z>Z|[+-]\d\d(?::?\d\d)?)?)?"
)


def date_span(text: str) -> DateSpan | None:
    """Return the span of a date, date-time or interval, or None if ISO 8601-1 has no such form.

    A time without offset is taken as UTC, as only lengths and order are asked for. An interval's
    end may leave out what it shares with the start (``1880-05-08/10``).

    >>> date_span("1880-05-08/10").seconds
    259200.0
    """
    first, divided, last = text.strip().partition("/")
    start = _one(first)
    if not divided or start is None:
        return start
    end = _one(last) or _one(first[: len(first) - len(last)] + last)
    if end is None or end.end < start.start:
        return None
    # The end of an interval given to the second is that moment, not the second after it.
    until = end.start if end.finest == "second" else end.end
    return DateSpan(start=start.start, end=max(until, start.start), finest=end.finest)


def _one(text: str) -> DateSpan | None:
    found = _DATE.fullmatch(text)
    if not found or (found["H"] and not (found["d"] or found["o"] or found["wd"])):
        return None
    try:
        return _span(found)
    except (ValueError, OverflowError):
        return None


def _span(found: re.Match[str]) -> DateSpan:
    year = int(found["y"])
    if found["w"]:
        day = date.fromisocalendar(year, int(found["w"]), int(found["wd"]))
    elif found["o"]:
        day = date(year, 1, 1) + timedelta(days=int(found["o"]) - 1)
        if day.year != year or found["o"] == "000":
            raise ValueError("no such day of the year")
    else:
        day = date(year, int(found["m"] or 1), int(found["d"] or 1))
    clock = time(int(found["H"] or 0), int(found["M"] or 0), int(found["S"] or 0))
    start = datetime.combine(day, clock, tzinfo=_zone(found["z"]))
    finest = next(
        (unit for name, unit in (("S", "second"), ("M", "minute"), ("H", "hour")) if found[name]),
        "day" if found["d"] or found["o"] or found["w"] else "month" if found["m"] else "year",
    )
    return DateSpan(start=start, end=_after(start, finest), finest=finest)


def _zone(text: str | None) -> timezone:
    if not text or text == "Z":
        return UTC
    digits = text[1:].replace(":", "").ljust(4, "0")
    offset = timedelta(hours=int(digits[:2]), minutes=int(digits[2:]))
    if int(digits[2:]) > 59:
        raise ValueError("no such offset")
    return timezone(-offset if text[0] == "-" else offset)


def _after(start: datetime, finest: str) -> datetime:
    if finest == "year":
        return start.replace(year=start.year + 1)
    if finest == "month":
        return start.replace(year=start.year + start.month // 12, month=start.month % 12 + 1)
    return start + timedelta(**{f"{finest}s": 1})
