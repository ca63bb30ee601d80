"""Reads "27 September last year" as a day of the year before the mail's.

Right behind a day or a month the words stand for its year; so they do right before a day, where
nothing is compared with it ("more than last year, on 3 June I saw ..."). English, German, Polish
and French; no source: chosen from how people write (date_words.toml).
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from datetime import date

from triage.metadata.date_words import LAST_YEAR, TWO_YEARS_AGO, YEAR_AGO, YEAR_BEFORE_LAST
from triage.metadata.days_found import MONTH, ORDINAL, WEEKDAY, Day, Unread, no_such_day
from triage.metadata.text_spans import Span

LAST_YEARS = rf"(?:(?P<last_year>{LAST_YEAR})|(?P<before_last>{YEAR_BEFORE_LAST}))(?!\w|'s)"
_AGO = rf"(?:(?P<year_ago>{YEAR_AGO})|{TWO_YEARS_AGO})(?!\w)"
_DAY = (
    rf"(?:(?<![\d.,:/-])[0-3]?\d{ORDINAL}\s?(?:of\s)?(?:{MONTH})\b\.?"
    rf"|\b(?:{MONTH})\.?\s(?:the\s)?[0-3]?\d(?:st|nd|rd|th)?(?![\w:.,/%-])"
    r"|(?<![\w.,:/-])[0-3]?\d(?P<s>[./])[01]?\d\b\.?)"
)
_MONTH_ALONE = rf"\b(?!may\b|mar\b)(?:{MONTH})\b\.?"
_BEHIND = re.compile(
    rf"(?P<day>{_DAY}|{_MONTH_ALONE})"
    rf"(?P<said>\s(?:of\s(?:the\s)?|de\s|des\s|du\s|w\s|im\s)?{LAST_YEARS}"
    rf"|\s{_AGO}|,\s{_AGO.replace('year_ago', 'year_ago_apart')}(?=\s?(?:[,.)\n]|$)))"
)
_AHEAD = re.compile(
    rf"(?<![\w'])(?:w\s|im\s|in\s)?{LAST_YEARS}(?P<comma>,?)\s?"
    r"(?:(?<=[ ,])(?:on|am|le|w|we|the|dnia|dniu|around|about|um|the|z|vom)\s){0,3}"
    rf"(?:(?:{WEEKDAY})[ ,]{{1,2}}(?:(?:the|den|dnia|le)\s)?)?"
    rf"(?=(?P<day>{_DAY})(?!\s?(?:19|20)\d\d))"
)
_COMPARED = re.compile(
    r"(?<!\w)(?:than|unlike|as|like|to|since|with|als|wie|seit|zu[mr]?|gegenuber|niz|jak|od|do|que"
    r"|depuis|comme|a)\s(?:in\s|w\s|im\s|de\s)?$|\bqu'$|\bd'$"
)
_BEGINS = re.compile(r"(?:^|[.!?;:(\n])\s*$")


@dataclass(frozen=True, slots=True)
class YearSaid:
    """A year that words beside a day stand for: where they stand, where the day does."""

    year: int
    span: Span
    day_at: int  # a letter of the day
    follows: bool  # whether the words follow the day


def with_years_said(folded: str, shown: str, sent: date | None) -> tuple[str, list[YearSaid]]:
    """A folded text with such words as a year in figures behind its day, or blank ahead of it.

    ``shown`` is the text as it was written: words on the next line, with a capital, are of another
    sentence.

    >>> with_years_said("on 3 june last year.", "on 3 June last year.", date(2026, 7, 1))[0]
    'on 3 june 2025     .'
    """
    said: list[YearSaid] = []
    if sent is None or not re.search(rf"{LAST_YEARS}|{_AGO}", folded):
        return folded, said
    text = folded
    for found in _BEHIND.finditer(folded):
        first, last = found.span("said")
        if "\n" in found[0] and shown[first:last].strip()[:1].isupper():
            continue
        year = year_of(found, sent)
        figures = f"{found['s'] or ' '}{year}"
        if found["s"] and found["day"].endswith("."):
            figures = str(year)
        text = f"{text[:first]}{figures.ljust(last - first)}{text[last:]}"
        said.append(YearSaid(year, (first, last), found.start("day"), True))
    for found in _AHEAD.finditer(text):
        ahead = text[max(0, found.start() - 40) : found.start()]
        if _COMPARED.search(ahead) or (found["comma"] and not _BEGINS.search(ahead)):
            continue
        first, last = found.start(), max(found.end("last_year"), found.end("before_last"))
        text = f"{text[:first]}{' ' * (last - first)}{text[last:]}"
        said.append(YearSaid(year_of(found, sent), (first, last), found.start("day"), False))
    return text, said


def year_of(found: re.Match[str], sent: date) -> int:
    """The year for which LAST_YEARS or years ago stand in a mail of that day."""
    said = found.groupdict()
    once = any(said.get(kind) for kind in ("last_year", "year_ago", "year_ago_apart"))
    return sent.year - (1 if once else 2)


def in_the_year_said(found: Day | Unread, said: list[YearSaid]) -> Day | Unread:
    """A finding in the year that the words beside it say, its span with those words."""
    first, last = found.span
    for one in said:
        if not first <= one.day_at < last:
            continue
        span = min(first, one.span[0]), max(last, one.span[1])
        if one.follows or isinstance(found, Unread):
            return replace(found, span=span)
        try:
            return replace(
                found,
                first=found.first.replace(year=one.year),
                last=found.last.replace(year=one.year),
                span=span,
                doubts=(),
            )
        except ValueError:
            why = no_such_day(str(one.year), found.last.month, found.last.day)
            return Unread(span=span, ask=True, why=why)
    return found
