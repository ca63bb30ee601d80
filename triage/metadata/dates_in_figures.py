"""Find the days that a folded text writes in figures: 2026-06-14, 14.06.2026, 14/6, 6/14.

Day first where a stop divides; a solidus may mean either order. Figures that are something else
(prices, shutter times, versions, telephone numbers) are left alone.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from datetime import date

from triage.metadata.date_words import CUES
from triage.metadata.days_found import (
    BEFORE,
    ENDS_BEFORE,
    MOST_DAYS,
    Day,
    Unread,
    day_of,
    no_such_day,
    no_such_days,
    stated_weekday,
    weekday_of,
)
from triage.metadata.text_spans import SITE, Span, blanked

NEAR_DAYS = 62  # common practice, both: how old what a note reports may be
FAR_DAYS = 180
# A note of the last days is nearer still: the reading of three months ago is not meant either.
_NEAR_AND_FAR = ((NEAR_DAYS, FAR_DAYS), (7, 90))

_ISO = re.compile(
    rf"{BEFORE}(?<![\w./:+-])(?P<y>(?:19|20)\d\d)(?P<s>[-/.])(?P<m>\d\d?)(?P=s)(?P<d>\d\d?)"
    r"(?:\s*(?:-|/|to|bis|do)\s*(?P<y2>(?:19|20)\d\d)(?P=s)(?P<m2>\d\d?)(?P=s)(?P<d2>\d\d?))?"
    r"(?![\w/-]|[.:]\d)"
)
_RANGE = re.compile(
    rf"{BEFORE}(?<![\w./:+,-])(?P<d>[0-3]?\d)\.?(?:(?P<m1>[01]?\d)\.?)?\s*(?:-|/|bis|do|und|i)\s*"
    r"(?P<e>[0-3]?\d)\.(?P<m>[01]?\d)\.(?P<y>(?:19|20)?\d\d)?(?!\d)"
)
_FULL = re.compile(
    rf"{BEFORE}(?<![\w./:+,-])(?P<a>\d?\d)\s?(?P<s>[./-])\s?(?P<b>\d?\d)\s?(?P=s)\s?"
    r"(?P<y>(?:19|20)\d\d|\d\d)(?!(?!r\b)[\w/-]|[.:,]\d)"
)
_SHORT_FIGURES = re.compile(
    rf"{BEFORE}(?<![\w./:+,-])(?P<a>[0-3]?\d)(?P<s>[./])(?P<b>[0-3]?\d)(?P<dot>\.)?(?![\w/:%-]|[.,]\d)"
)
_NO_DATES = {
    (24, 7),
    (16, 9),
    (16, 10),
    (4, 3),
    (3, 2),
    (50, 50),
    (1, 2),
    (1, 3),
    (1, 4),
    (3, 4),
    (2, 3),
}
_VERSIONS = re.compile(
    r"(?:\bv|mwst|vat|version|ver\.?|firmware|ios|android|release|tel\.?|phone|fax|mobil\w*)\W*$"
)
_UNITS = re.compile(
    r"[^\S\n]*(?:s\b|sec|mm\b|cm\b|m\b|km\b|mp\b|%|€|\$|eur|euro|zl\b|pln|usd|gbp|£|kb|mb|x\b|uhr\b|h\b|am\b|pm\b|"
    r"°|x\d|iso|f/|of\b|hours|std|min\b|p\.m|a\.m)"
)


def in_figures(text: str, sent: date | None) -> Iterator[Day | Unread]:
    """Days in figures: ISO 8601, 14.06.2026, 14/6, 6/14; day first where a stop divides."""
    done: list[Span] = []
    for found in _ISO.finditer(text):
        first = day_of(found["y"], int(found["m"]), int(found["d"]), sent)
        last = first
        if found["y2"]:
            last = day_of(found["y2"], int(found["m2"]), int(found["d2"]), sent)
        if first and last and first[0] <= last[0]:
            done.append(found.span())
            day = stated_weekday(found["wd"], first[0])
            yield Day(first=first[0], last=last[0], span=found.span(), weekday=day)
        elif why := _no_iso_day(found):
            done.append(found.span())
            yield Unread(span=found.span(), ask=True, why=why)
    text = blanked(text, done)
    done = []
    for found in _RANGE.finditer(text):
        last = day_of(found["y"], int(found["m"]), int(found["e"]), sent)
        start = int(found["m1"] or found["m"])
        year = found["y"] or (str(last[0].year) if last else None)
        first = day_of(year, start, int(found["d"]), sent) if 1 <= start <= 12 else None
        if first and last and first[0] <= last[0]:
            done.append(found.span())
            yield Day(first=first[0], last=last[0], span=found.span(), doubts=last[1])
        elif why := _no_range(found):
            done.append(found.span())
            yield Unread(span=found.span(), ask=True, why=why)
    text = blanked(text, done)
    for pattern in (_FULL, _SHORT_FIGURES):
        done = []
        for found in pattern.finditer(text):
            if not _is_date(found, text):
                continue
            day_found = _day_of_figures(found, sent)
            if day_found:
                done.append(found.span())
                yield day_found
        text = blanked(text, done)


def _no_iso_day(found: re.Match[str]) -> str:
    """Why a year, month and day, or two of them, are none; empty for what may be no date at all."""
    days = [(int(found["m"]), int(found["d"]))]
    if found["y2"]:
        days.append((int(found["m2"]), int(found["d2"])))
    if any(max(one) > MOST_DAYS or min(one) > 12 for one in days):
        return ""
    first = (found["y"], *days[0]), (found["y2"] or found["y"], *days[-1])
    return next(filter(None, (no_such_day(*one) for one in first)), ENDS_BEFORE)


def _no_range(found: re.Match[str]) -> str:
    """Why figures from one day to another are no days; "Steg 3 und 2.6." is no such range."""
    month, last = int(found["m"]), int(found["e"])
    first = int(found["m1"] or month), int(found["d"])
    why = no_such_days(found["y"], first, (month, last))
    joined = re.search(r"\d\.?\s*(?:und|i|/)\s*\d", found[0]) is not None
    return "" if joined and why == ENDS_BEFORE else why


def _is_date(found: re.Match[str], text: str) -> bool:
    before = text[max(0, found.start() - 40) : found.start()]
    after = text[found.end() : found.end() + 20]
    dotted = bool(found.groupdict().get("dot"))
    whole = len(found.groupdict().get("y") or "") == len("2026")
    measured = _UNITS.match(after) and not ((dotted or whole) and re.match(r"\s+am\s", after))
    if _VERSIONS.search(before[-20:]) or measured:
        return False
    if "y" in found.re.groupindex:
        return True
    numbers = int(found["a"]), int(found["b"])
    last_word = re.findall(r"[a-z']+(?=\W*$)", before[-15:])
    cued = bool(found["wd"]) or (bool(last_word) and last_word[0] in CUES)
    if numbers in _NO_DATES:
        return cued and numbers != (24, 7)
    start = r"(?:\A|[\n(]|[.!?]\s)" if found.start() <= 40 else r"(?:[\n(]|[.!?]\s)"
    alone = re.search(start + r"\s*\Z", before) is not None
    if found["s"] == "/":
        # 1/250 is a shutter time; a month and a day with one over 12 is hardly anything else.
        return cued or alone or (max(numbers) > 12 and numbers[0] != 1)
    # "30.08." with its final stop is how a day is written in German and Polish; a decimal has none.
    padded, goes_on = found["b"].startswith("0"), re.match(r"[^\S\n]+[^\W\d_]|\n", after)
    if dotted and (padded or (numbers[0] > 12 and goes_on)):
        return True
    if re.search(r"\s{6,},\s*\Z", before):
        return False  # right behind a whole date: a time of day
    if re.search(rf"{SITE}[\s,:-]*\Z", before) or re.match(rf"[\s,:-]*{SITE}", after):
        return padded or dotted  # beside the name of a site
    divided = (
        (padded or dotted) and re.search(r"[-,/]\s*\Z", before) and re.match(r"\s*(?:$|\n)", after)
    )
    between_commas = dotted and re.search(r",\s*\Z", before) and re.match(r"\s*,", after)
    return bool(
        cued
        or divided
        or between_commas
        or (alone and re.match(r"\s*(?:[a-z(:,)]|$|\n)", after) is not None)
    )


def _no_day(year: str | None, readings: Sequence[tuple[int, int]]) -> str:
    """Why none of the readings (month, day) is a day; empty for what may be no date at all.

    A whole year behind stops makes a date of any figures: "45/06/2026" may number a document.
    """
    surely = year is not None and len(year) == 4 and len(readings) == 1
    whys = {one: no_such_day(year, *one) for one in readings}
    of_months = [whys[month, day] for month, day in whys if 1 <= month <= 12 and day <= MOST_DAYS]
    if not all(whys.values()) or not (surely or of_months):
        return ""
    return (of_months or list(whys.values()))[0]


def _day_of_figures(found: re.Match[str], sent: date | None) -> Day | Unread | None:
    a, b = int(found["a"]), int(found["b"])
    year = found["y"] if "y" in found.re.groupindex else None
    readings = [(b, a)] if found["s"] == "." else [(b, a), (a, b)]  # (month, day)
    dated = {reading: day_of(year, *reading, sent) for reading in readings if 1 <= reading[0] <= 12}
    known = {reading: day for reading, day in dated.items() if day}
    if not known and (why := _no_day(year, readings)):
        return Unread(span=found.span(), ask=True, why=why)
    if not known:
        return Unread(span=found.span(), ask=True) if dated and sent is None else None
    weekday = weekday_of(found["wd"])
    days = {day[0]: day[1] for day in known.values()}
    if len(days) > 1:
        # Not after the mail, and on the weekday given, if only one reading is.
        past = {day: doubts for day, doubts in days.items() if sent is None or day <= sent}
        days = past or days
        on_weekday = {d: doubts for d, doubts in days.items() if d.weekday() == weekday}
        days = on_weekday or days
    if len(days) == 1:
        (day, doubts), *_ = days.items()
        stated = stated_weekday(found["wd"], day)
        return Day(first=day, last=day, span=found.span(), doubts=doubts, weekday=stated)
    first, last = min(days), max(days)
    ago = ((sent - last).days, (sent - first).days) if sent else (0, 0)
    if any(0 <= ago[0] <= near and ago[1] >= far for near, far in _NEAR_AND_FAR):
        # Notes are about the last weeks: the reading of half a year ago is not what is meant.
        note = f"{first.isoformat()} is the other reading of the figures"
        return Day(first=last, last=last, span=found.span(), note=note)
    return Day(
        first=first,
        last=last,
        span=found.span(),
        doubts=(f"day and month may stand either way: {first.isoformat()} or {last.isoformat()}",),
        question=f"Is {{words}} {first.isoformat()} or {last.isoformat()}?",
    )
