"""Find the day in the calendar that parts of a date mean, with what is doubtful."""

from __future__ import annotations

from calendar import monthrange
from dataclasses import dataclass
from datetime import date

from triage.metadata.date_words import MONTHS, ROMAN, SHORT_WEEKDAYS, WEEKDAYS
from triage.metadata.text_spans import Span

LONG_AGO_DAYS = 300  # a yearless date that far back is doubted: the year is a guess


@dataclass(frozen=True, slots=True, kw_only=True)
class Day:
    """One day, or first and last of several, as found in the text."""

    first: date
    last: date
    span: Span
    doubts: tuple[str, ...] = ()
    question: str = ""
    note: str = ""
    weekday: int | None = None  # stated beside the date


@dataclass(frozen=True, slots=True, kw_only=True)
class Unread:
    """A phrase that names a day but cannot be read as one; ``ask`` if a person could tell.

    ``why`` says of figures or words that are meant as a day why no calendar has it.
    """

    span: Span
    ask: bool
    why: str = ""


MENTIONS = 40  # of a day that are looked at: a mail that names it more often is none of a person
MOST_DAYS = 39  # a number of at most this stands for a day, in a slip at that
ENDS_BEFORE = "it ends before it begins"
_NAMES = "January February March April May June July August September October November December"


def no_such_day(year: str | None, month: int, day: int) -> str:
    """Why no calendar has a day; empty if it has one. Without a year 29 February is one.

    >>> no_such_day(None, 6, 31), no_such_day("2026", 2, 29), no_such_day("2026", 2, 28)
    ('there is no 31 June', 'there is no 29 February 2026', '')
    """
    if not 1 <= month <= 12:
        return f"there is no month {month}"
    whole = _whole_year(year) if year else LEAP_YEAR
    if 1 <= day <= monthrange(whole, month)[1]:
        return ""
    only_then = (month, day) == (2, 29)
    return f"there is no {day} {_NAMES.split()[month - 1]}" + (f" {whole}" if only_then else "")


def no_such_days(year: str | None, first: tuple[int, int], last: tuple[int, int]) -> str:
    """Why no calendar has days from one (month, day) to another; empty if it has them."""
    ends = "" if first <= last else ENDS_BEFORE
    return no_such_day(year, *first) or no_such_day(year, *last) or ends


LEAP_YEAR = 2024


def _whole_year(year: str) -> int:
    return int(year) if len(year) == 4 else 2000 + int(year)


def _latest(month: int, day: int, sent: date) -> date | None:
    """Return the latest such day up to the mail (29 February may be years back)."""
    for year in range(sent.year, sent.year - 9, -1):
        try:
            found = date(year, month, day)
        except ValueError:
            continue
        if found <= sent:
            return found
    return None


def day_of(
    year: str | None, month: int, day: int, sent: date | None
) -> tuple[date, tuple[str, ...]] | None:
    """Return the day and its doubts, or None for no day of the calendar."""
    if year:
        try:
            return date(_whole_year(year), month, day), ()
        except ValueError:
            return None
    if sent is None:
        return None
    found = _latest(month, day, sent)
    if found is None:
        return None
    if (sent - found).days > LONG_AGO_DAYS:
        return found, (f"the text names no year; in {sent.year} it would be after the mail",)
    return found, ()


# Pieces of the patterns that find dates; ``wd`` is the weekday beside one, ``y`` its year.
MONTH = "|".join(sorted(MONTHS, key=len, reverse=True))
ROMAN_NUMBER = "|".join(sorted(ROMAN, key=len, reverse=True))
WEEKDAY = "|".join(sorted(WEEKDAYS, key=len, reverse=True))
_SHORT = "|".join(sorted(SHORT_WEEKDAYS, key=len, reverse=True))
BEFORE = (
    rf"(?:\b(?P<wd>(?:{WEEKDAY})|(?:{_SHORT})(?=[.,]))\b[.,]*\s+(?:(?:the|de[nm]|dnia|le)\s+)?)?"
)
YEAR = r"(?P<y>(?:19|20)\d\d)(?!\d)"
ORDINAL = r"(?:st|nd|rd|th|er|\.)?"
UNTIL = r"\s*(?:-|/|to|and|till|until|bis|und|do|i)\s*(?:the\s+)?"


def weekday_of(word: str | None) -> int | None:
    """Return the number of a weekday's name or short form, Monday 0."""
    if not word:
        return None
    return WEEKDAYS.get(word, SHORT_WEEKDAYS.get(word))


def stated_weekday(word: str | None, day: date) -> int | None:
    """Return the weekday that stands beside a day; a short form only where it is that day's.

    "So, 14 June" may begin an English sentence as well as name a Sunday.
    """
    number = weekday_of(word)
    return number if word in WEEKDAYS or number == day.weekday() else None
