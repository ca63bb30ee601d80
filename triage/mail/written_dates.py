"""Read a date as a mail program writes it above a forwarded text."""

from __future__ import annotations

import re
from datetime import datetime, timedelta, timezone

from triage.mail.header_words import LANGUAGES
from triage.mail.headers import read_date
from triage.standards.iso_dates import within_the_calendar

_NAMED = re.compile(
    r"(?i)(?:(?P<day>\d{1,2})(?:st|nd|rd|th|\.|er|º)?\s*(?:de\s+)?(?P<month>[^\W\d_]{3,12})\.?,?\s*(?:de\s+)?(?P<year>\d{4})"
    r"|(?P<month2>[^\W\d_]{3,12})\.?\s+(?P<day2>\d{1,2})(?:st|nd|rd|th)?,?\s+(?P<year2>\d{4}))"
)
_ISO = re.compile(r"(?<!\d)(?P<year>\d{4})-(?P<month>\d{1,2})-(?P<day>\d{1,2})(?!\d)")
_DOTTED = re.compile(r"(?<!\d)(?P<day>\d{1,2})\.\s?(?P<month>\d{1,2})\.\s?(?P<year>\d{4})(?!\d)")
_CLOCK = re.compile(r"(?i)(?<!\d)(\d{1,2})[:.h](\d{2})(?:[:.](\d{2}))?\s*([ap])?\.?(?:m\b)?")
_ZONE = re.compile(r"(?i)(?:\b(?:gmt|utc)\s*)?([+-])(\d{2}):?(\d{2})?(?!\d)")


def read_written_date(value: str) -> datetime | None:
    """Read a date with a year, a month that cannot be mistaken, and a clock time.

    Slashed dates are read only where one of the numbers is past 12: 14/6/2026 and 6/14/2026 can
    be told, 5/6/2026 cannot and gives None. Without a zone the result is naive.

    Examples
    --------
    >>> read_written_date("Sonntag, 14. Juni 2026 um 18:05 Uhr").isoformat()
    '2026-06-14T18:05:00'
    >>> read_written_date("5/6/2026 10:00") is None
    True
    """
    value = re.sub(r"[\u00a0\u202f]", " ", value[:200])
    standard = (
        read_date(value)
        if re.match(r"\s*(?:[A-Za-z]{3},\s*)?\d{1,2} [A-Za-z]{3} \d{4} ", value)
        else None
    )
    if standard:
        return standard
    found = _day_of(value)
    if found is None:
        return None
    (year, month, day), rest = found
    clock = _CLOCK.search(rest)
    if clock is None:
        return None
    hour = int(clock[1])
    if clock[4]:
        hour = hour % 12 + (12 if clock[4].lower() == "p" else 0)
    try:
        moment = datetime(year, month, day, hour, int(clock[2]), int(clock[3] or 0))
        zone = _ZONE.search(rest, clock.end())
        if zone:
            offset = timedelta(hours=int(zone[2]), minutes=int(zone[3] or 0))
            moment = moment.replace(tzinfo=timezone(-offset if zone[1] == "-" else offset))
        return within_the_calendar(moment)
    except ValueError:
        return None


def _day_of(value: str) -> tuple[tuple[int, int, int], str] | None:
    for pattern in (_ISO, _DOTTED):
        if match := pattern.search(value):
            day = int(match["year"]), int(match["month"]), int(match["day"])
            return day, value[: match.start()] + " " + value[match.end() :]
    if match := _NAMED.search(value):
        month = _month_number(match["month"] or match["month2"])
        if month:
            day = int(match["year"] or match["year2"]), month, int(match["day"] or match["day2"])
            return day, value[: match.start()] + " " + value[match.end() :]
    if match := re.search(r"(?<!\d)(\d{1,2})/(\d{1,2})/(\d{4})(?!\d)", value):
        first, second, year = int(match[1]), int(match[2]), int(match[3])
        rest = value[: match.start()] + " " + value[match.end() :]
        if first > 12 >= second:
            return (year, second, first), rest
        if second > 12 >= first or first == second:
            return (year, first, second), rest
    return None


def _month_number(word: str) -> int:
    """Match the longest known beginning, so that Czech ``července`` is not ``červn``."""
    word = word.casefold()
    best, length = 0, 0
    for language in LANGUAGES:
        for number, beginning in enumerate(language.months, start=1):
            if word.startswith(beginning) and len(beginning) > length:
                best, length = number, len(beginning)
    return best
