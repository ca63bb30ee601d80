"""A text and its mail's date in, the days and times that it names out, in three languages.

Days are read against the day of the mail in the survey's zone, in English, German and Polish. A
date without a year is its latest occurrence up to the mail. What reads two ways becomes an
interval with a doubt and a question.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from triage.metadata.capture_time import TimeClaim
from triage.metadata.date_words import (
    CUES,
    DAYS_BACK,
    LAST,
    MONTHS,
    NOT_PAST,
    NUMBER_WORDS,
    ROMAN,
    SHORT_WEEKDAYS,
    WEEKDAYS,
)
from triage.metadata.text_spans import Span, blanked
from triage.metadata.text_times import find_clock_times

ABOUT_SECONDS = 1800.0  # common practice: "around 3 pm"
AT_SECONDS = 300.0  # common practice: a time read off a watch and told later
LONG_AGO_DAYS = 300  # a yearless date that far back is doubted: the year is a guess


@dataclass(frozen=True, slots=True, kw_only=True)
class _Day:
    """One day, or first and last of several, as found in the text."""

    first: date
    last: date
    span: Span
    doubts: tuple[str, ...] = ()
    question: str = ""
    weekday: int | None = None  # stated beside the date


def find_times(
    text: str, *, sent_at: datetime | None, zone: str
) -> tuple[list[TimeClaim], list[str]]:
    """Return a claim for each day that the text names, and what must be asked."""
    sent = sent_at.astimezone(ZoneInfo(zone or "UTC")) if sent_at else None
    folded = fold_letters(text)
    days: list[_Day] = []
    questions: list[str] = []
    for read in (_written_out, _figures, _relative, _weekdays, _month_parts):
        spans: list[Span] = []
        for found in read(folded, sent.date() if sent else None):
            if isinstance(found, _Unread):
                spans.append(found.span)
                phrase = text[slice(*found.span)].strip()
                if found.ask:
                    questions.append(f"Which day is meant by {phrase!r}? The mail has no date.")
                continue
            days.append(found)
            spans.append(found.span)
        folded = blanked(folded, spans)
    clock, clock_spans = find_clock_times(folded)
    claims = [_claim(day, text, sent, zone) for day in _distinct(days)]
    questions.extend(
        day.question.replace("{words}", _words(text, day.span)) for day in days if day.question
    )
    if len(claims) == 1 and len(clock) == 1 and "/" not in claims[0].event_date:
        claims = [_with_clock(claims[0], clock[0], text[slice(*clock_spans[0])], sent)]
    if len(claims) > 1:
        listed = ", ".join(sorted(claim.event_date for claim in claims))
        doubt = f"the text names several days: {listed}"
        claims = [replace(claim, doubts=(*claim.doubts, doubt)) for claim in claims]
        questions.append(f"Which day was the photo taken: {listed}?")
    return claims, questions


@dataclass(frozen=True, slots=True, kw_only=True)
class _Unread:
    """A phrase that names a day but cannot be read as one; ``ask`` if a person could tell."""

    span: Span
    ask: bool


_FOLDS = str.maketrans("ąćęłńóśźżäöüáéíàèß", "acelnoszzaouaeiaes")


def fold_letters(text: str) -> str:
    """Return the text in lower case without diacritics, one character for one.

    >>> fold_letters("Środa, 14. März")
    'sroda, 14. marz'
    """
    lowered = "".join(c.lower() if len(c.lower()) == 1 else c for c in text)
    lowered = lowered.translate(_FOLDS)
    return re.sub("[\u00a0\u2009\u202f\t]", " ", lowered).translate(
        {0x2013: "-", 0x2014: "-", 0x2012: "-", 0x2212: "-", 0x2019: "'"}
    )


def _claim(day: _Day, text: str, sent: datetime | None, zone: str) -> TimeClaim:
    doubts = list(day.doubts)
    if day.weekday is not None and day.first == day.last and day.first.weekday() != day.weekday:
        was, said = _DAY_NAMES[day.first.weekday()], _DAY_NAMES[day.weekday]
        doubts.append(f"{day.first.isoformat()} was a {was}, the text says {said}")
    if sent and day.first > sent.date():
        doubts.append(f"later than the mail, which was sent {sent.date().isoformat()}")
    one = day.first.isoformat()
    return TimeClaim(
        source="message text",
        event_date=one if day.first == day.last else f"{one}/{day.last.isoformat()}",
        uncertainty_seconds=0.0,
        verbatim=_words(text, day.span),
        zone=zone,
        doubts=tuple(doubts),
    )


def _words(text: str, span: Span) -> str:
    return " ".join(text[slice(*span)].split()).strip(" ,.;:()")


_DAY_NAMES = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


def _with_clock(
    claim: TimeClaim, clock: tuple[int, int, bool], words: str, sent: datetime | None
) -> TimeClaim:
    hour, minute, about = clock
    moment = f"{claim.event_date}T{hour:02d}:{minute:02d}"
    doubts = claim.doubts
    if sent and datetime.fromisoformat(moment) > sent.replace(tzinfo=None) and not doubts:
        doubts = (f"later than the mail, which was sent {sent.isoformat(timespec='minutes')}",)
    return replace(
        claim,
        event_date=moment,
        uncertainty_seconds=ABOUT_SECONDS if about else AT_SECONDS,
        verbatim=f"{claim.verbatim}, {' '.join(words.split())}",
        doubts=doubts,
    )


def _distinct(days: list[_Day]) -> list[_Day]:
    """Drop what another finding says more exactly, and what is said twice."""
    kept: list[_Day] = []
    for day in sorted(days, key=lambda d: (d.last - d.first, d.span)):
        if not any(day.first <= other.first and other.last <= day.last for other in kept):
            kept.append(day)
    return sorted(kept, key=lambda d: d.span)


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


def _dated(
    year: str | None, month: int, day: int, sent: date | None
) -> tuple[date, tuple[str, ...]] | None:
    """Return the day and its doubts, or None for no day of the calendar."""
    if year:
        whole = int(year) if len(year) == 4 else 2000 + int(year)
        try:
            return date(whole, month, day), ()
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


_MONTH = "|".join(sorted(MONTHS, key=len, reverse=True))
_ROMAN = "|".join(sorted(ROMAN, key=len, reverse=True))
_WEEKDAY = "|".join(sorted(WEEKDAYS, key=len, reverse=True))
_SHORT = "|".join(sorted(SHORT_WEEKDAYS, key=len, reverse=True))
_BEFORE = rf"(?:\b(?P<wd>(?:{_WEEKDAY})|(?:{_SHORT})(?=[.,]))\b[.,]*\s+(?:(?:the|den|dnia)\s+)?)?"
_YEAR = r"(?P<y>(?:19|20)\d\d)(?!\d)"
_ORD = r"(?:st|nd|rd|th|\.)?"
_TO = r"\s*(?:-|/|to|and|till|until|bis|und|do|i)\s*(?:the\s+)?"

_DAY_MONTH = re.compile(
    rf"{_BEFORE}(?<![\d.,:/-])(?P<d>[0-3]?\d){_ORD}"
    rf"(?:{_TO}(?P<e>[0-3]?\d){_ORD})?\s*(?:of\s+)?"
    rf"(?:(?P<m>{_MONTH})\b|(?P<r>(?<=[\s.])(?:{_ROMAN})\b(?=\.|\s+(?:19|20)\d\d)))"
    rf"(?:[.,]?\s*(?:{_YEAR}|'?(?P<yy>\d\d)(?![\d.:,/]|\s*(?:uhr|h\b|am\b|pm\b|km|m\b|mm)))?)?"
)
_MONTH_DAY = re.compile(
    rf"{_BEFORE}\b(?P<m>{_MONTH})\.?\s+(?:the\s+)?(?P<d>[0-3]?\d)(?:st|nd|rd|th)?"
    rf"(?:{_TO}(?P<e>[0-3]?\d)(?:st|nd|rd|th)?)?(?![\d:%])(?![.,/]\d)"
    rf"(?:,?\s+{_YEAR})?"
)
_TWO_MONTHS = re.compile(
    rf"(?<![\d.,:/-])(?P<d>[0-3]?\d){_ORD}\s*(?P<m>{_MONTH})\b{_TO}"
    rf"(?P<e>[0-3]?\d){_ORD}\s*(?P<n>{_MONTH})\b(?:[.,]?\s*{_YEAR})?"
)


def _written_out(text: str, sent: date | None) -> Iterator[_Day | _Unread]:
    """Days with the month's name: 14 June, June 14th, 14. Juni, 14 czerwca, 14.VI.2026."""
    done: list[Span] = []
    for found in _TWO_MONTHS.finditer(text):
        first = _dated(found["y"], MONTHS[found["m"]], int(found["d"]), sent)
        last = _dated(found["y"], MONTHS[found["n"]], int(found["e"]), sent)
        if first and last and first[0] <= last[0]:
            done.append(found.span())
            yield _Day(first=first[0], last=last[0], span=found.span(), doubts=first[1])
    text = blanked(text, done)
    for pattern in (_DAY_MONTH, _MONTH_DAY):
        done = []
        for found in pattern.finditer(text):
            groups = found.groupdict()
            year = groups.get("y") or groups.get("yy")
            month = MONTHS[groups["m"]] if groups.get("m") else ROMAN[groups["r"] or ""]
            if pattern is _MONTH_DAY and groups["m"] in ("may", "mar") and not _surely(found):
                continue
            dated = _dated(year, month, int(groups["d"]), sent)
            last = _dated(year, month, int(groups["e"]), sent) if groups["e"] else dated
            if dated is None or last is None or last[0] < dated[0]:
                if sent is None and not year:
                    yield _Unread(span=found.span(), ask=True)
                continue
            done.append(found.span())
            yield _Day(
                first=dated[0],
                last=last[0],
                span=found.span(),
                doubts=dated[1],
                weekday=_weekday_of(groups["wd"]),
            )
        text = blanked(text, done)


def _surely(found: re.Match[str]) -> bool:
    """ "may 3" may be a verb; with a year, an ordinal, a weekday or a cue it is a month."""
    words = found[0] + found.string[found.end() : found.end() + 2]
    before = found.string[max(0, found.start("m") - 20) : found.start("m")].split()[-1:]
    return bool(
        found["y"] or found["wd"] or re.search(r"\d(?:st|nd|rd|th)", words) or before in _CUE_LISTS
    )


_CUE_LISTS = [[cue] for cue in CUES]


def _weekday_of(word: str | None) -> int | None:
    if not word:
        return None
    return WEEKDAYS.get(word, SHORT_WEEKDAYS.get(word))


_ISO = re.compile(
    rf"{_BEFORE}(?<![\w./:+-])(?P<y>(?:19|20)\d\d)(?P<s>[-/.])(?P<m>\d\d?)(?P=s)(?P<d>\d\d?)"
    r"(?:\s*(?:-|/|to|bis|do)\s*(?P<y2>(?:19|20)\d\d)(?P=s)(?P<m2>\d\d?)(?P=s)(?P<d2>\d\d?))?"
    r"(?![\w/-]|[.:]\d)"
)
_RANGE = re.compile(
    rf"{_BEFORE}(?<![\w./:+,-])(?P<d>[0-3]?\d)\.?(?:(?P<m1>[01]?\d)\.?)?\s*(?:-|/|bis|do|und|i)\s*"
    r"(?P<e>[0-3]?\d)\.(?P<m>[01]?\d)\.(?P<y>(?:19|20)?\d\d)?(?!\d)"
)
_FULL = re.compile(
    rf"{_BEFORE}(?<![\w./:+,-])(?P<a>[0-3]?\d)\s?(?P<s>[./-])\s?(?P<b>[0-3]?\d)\s?(?P=s)\s?"
    r"(?P<y>(?:19|20)\d\d|\d\d)(?![\w/-]|[.:,]\d)"
)
_SHORT_FIGURES = re.compile(
    rf"{_BEFORE}(?<![\w./:+,-])(?P<a>[0-3]?\d)(?P<s>[./])(?P<b>[0-3]?\d)(?P<dot>\.)?(?![\w/:%-]|[.,]\d)"
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
    r"(?:\bv|version|ver\.?|firmware|ios|android|release|tel\.?|phone|fax|mobil\w*)\W*$"
)
_UNITS = re.compile(
    r"\s*(?:s\b|sec|mm\b|cm\b|m\b|km\b|mp\b|%|€|\$|eur|euro|zl\b|pln|usd|gbp|£|kb|mb|x\b|uhr|h\b|am\b|pm\b|"
    r"°|x\d|iso|f/|of\b|hours|std|min\b|p\.m|a\.m)"
)


def _figures(text: str, sent: date | None) -> Iterator[_Day | _Unread]:
    """Days in figures: ISO 8601, 14.06.2026, 14/6, 6/14; day first where a stop divides."""
    done: list[Span] = []
    for found in _ISO.finditer(text):
        first = _dated(found["y"], int(found["m"]), int(found["d"]), sent)
        last = first
        if found["y2"]:
            last = _dated(found["y2"], int(found["m2"]), int(found["d2"]), sent)
        if first and last and first[0] <= last[0]:
            done.append(found.span())
            day = _weekday_of(found["wd"])
            yield _Day(first=first[0], last=last[0], span=found.span(), weekday=day)
    text = blanked(text, done)
    done = []
    for found in _RANGE.finditer(text):
        last = _dated(found["y"], int(found["m"]), int(found["e"]), sent)
        start = int(found["m1"] or found["m"])
        year = found["y"] or (str(last[0].year) if last else None)
        first = _dated(year, start, int(found["d"]), sent) if 1 <= start <= 12 else None
        if first and last and first[0] <= last[0]:
            done.append(found.span())
            yield _Day(first=first[0], last=last[0], span=found.span(), doubts=last[1])
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


def _is_date(found: re.Match[str], text: str) -> bool:
    before = text[max(0, found.start() - 40) : found.start()]
    after = text[found.end() : found.end() + 20]
    if _VERSIONS.search(before[-20:]) or _UNITS.match(after):
        return False
    if "y" in found.re.groupindex:
        return True
    numbers = int(found["a"]), int(found["b"])
    last_word = re.findall(r"[a-z']+(?=\W*$)", before[-15:])
    cued = bool(found["wd"]) or (bool(last_word) and last_word[0] in CUES)
    if numbers in _NO_DATES:
        return cued and numbers != (24, 7)
    start = r"(?:\A|[\n(])" if found.start() <= 40 else r"[\n(]"
    alone = re.search(start + r"\s*\Z", before) is not None
    if found["s"] == "/":
        # 1/250 is a shutter time; a month and a day with one over 12 is hardly anything else.
        return cued or alone or (max(numbers) > 12 and numbers[0] != 1)
    return cued or (alone and re.match(r"\s*(?:[a-z(:,]|$|\n)", after) is not None)


def _day_of_figures(found: re.Match[str], sent: date | None) -> _Day | _Unread | None:
    a, b = int(found["a"]), int(found["b"])
    year = found["y"] if "y" in found.re.groupindex else None
    readings = [(b, a)] if found["s"] == "." else [(b, a), (a, b)]  # (month, day)
    dated = {reading: _dated(year, *reading, sent) for reading in readings if 1 <= reading[0] <= 12}
    known = {reading: day for reading, day in dated.items() if day}
    if not known:
        return _Unread(span=found.span(), ask=True) if dated and sent is None else None
    weekday = _weekday_of(found["wd"])
    days = {day[0]: day[1] for day in known.values()}
    if len(days) > 1:
        # Not after the mail, and on the weekday given, if only one reading is.
        past = {day: doubts for day, doubts in days.items() if sent is None or day <= sent}
        days = past or days
        on_weekday = {d: doubts for d, doubts in days.items() if d.weekday() == weekday}
        days = on_weekday or days
    if len(days) == 1:
        (day, doubts), *_ = days.items()
        return _Day(first=day, last=day, span=found.span(), doubts=doubts, weekday=weekday)
    first, last = min(days), max(days)
    return _Day(
        first=first,
        last=last,
        span=found.span(),
        doubts=(f"day and month may stand either way: {first.isoformat()} or {last.isoformat()}",),
        question=f"Is {{words}} {first.isoformat()} or {last.isoformat()}?",
    )


_PHRASES = re.compile(
    r"\b(?:the )?("
    + "|".join(sorted(DAYS_BACK, key=len, reverse=True)).replace(" ", r"\s+")
    + r")\b"
)
_AGO = re.compile(
    r"\b(?:(?P<n>\d{1,3}|"
    + "|".join(NUMBER_WORDS)
    + r")\s+(?P<u>days?|weeks?|dni|tygodnie|tydzien|tygodni)\s+(?:ago|temu)"
    r"|vor\s+(?P<n2>\d{1,3}|" + "|".join(NUMBER_WORDS) + r")\s+(?P<u2>tagen|tag|wochen|woche))\b"
)
_WEEKEND = re.compile(
    r"\b(?P<q>(?:"
    + "|".join((*LAST, *NOT_PAST, "this", "the", "dieses", "am", "at", "ten", "w"))
    + r")\s+)*"
    r"(?:week-?end|wochenende)\b"
)
_WEEK = re.compile(r"\b(?:" + "|".join(LAST) + r")\s+(?:week|woche|tygodniu|tydzien)\b")


def _relative(text: str, sent: date | None) -> Iterator[_Day | _Unread]:
    """Days by the day of the mail: yesterday, vor zwei Tagen, w weekend."""
    for found in _PHRASES.finditer(text):
        back = DAYS_BACK[" ".join(found[1].split())]
        yield from _back(found.span(), back, back, sent)
    for found in _AGO.finditer(text):
        number = found["n"] or found["n2"]
        unit = found["u"] or found["u2"]
        count = int(number) if number.isdigit() else NUMBER_WORDS[number]
        if unit.startswith(("week", "woche", "ty")):
            yield from _back(found.span(), 7 * count + 3, 7 * count - 3, sent)
        else:
            yield from _back(found.span(), count, count, sent)
    for found in _WEEKEND.finditer(text):
        words = found[0].split()
        if any(word in NOT_PAST for word in words):
            yield _Unread(span=found.span(), ask=False)
        elif sent is None:
            yield _Unread(span=found.span(), ask=True)
        else:
            last_said = any(word in LAST for word in words)
            back = (
                sent.weekday() - 5 if sent.weekday() >= 5 and not last_said else sent.weekday() + 2
            )
            first = sent - timedelta(days=back)
            yield _Day(first=first, last=min(first + timedelta(days=1), sent), span=found.span())
    for found in _WEEK.finditer(text):
        start = sent.weekday() + 7 if sent else 0
        yield from _back(found.span(), start, start - 6, sent)


def _back(span: Span, first: int, last: int, sent: date | None) -> Iterator[_Day | _Unread]:
    if sent is None:
        yield _Unread(span=span, ask=True)
    else:
        yield _Day(
            first=sent - timedelta(days=first), last=sent - timedelta(days=max(0, last)), span=span
        )


_DAY_NAMED = re.compile(
    r"\b(?P<q>(?:" + "|".join((*LAST, *NOT_PAST, "on", "this", "am", "w", "we")) + r")\s+)*"
    r"(?P<wd>" + "|".join(word for word in WEEKDAYS if len(word) > 3) + r")\b(?!')"
)


def _weekdays(text: str, sent: date | None) -> Iterator[_Day | _Unread]:
    """Weekdays without a date: the latest one before the day of the mail."""
    for found in _DAY_NAMED.finditer(text):
        words = found[0].split()
        if any(word in NOT_PAST for word in words):
            yield _Unread(span=found.span(), ask=False)
        elif sent is None:
            yield _Unread(span=found.span(), ask=True)
        else:
            back = (sent.weekday() - WEEKDAYS[found["wd"]]) % 7
            if back == 0 and any(word in LAST for word in words):
                back = 7
            day = sent - timedelta(days=back)
            if back == 0:
                before = day - timedelta(days=7)
                doubt = f"the mail was sent on that weekday: {day} or {before} may be meant"
                ask = f"Is {{words}} {before} or {day}?"
                yield _Day(first=day, last=day, span=found.span(), doubts=(doubt,), question=ask)
            else:
                yield _Day(first=day, last=day, span=found.span())


_PART_OF_MONTH = re.compile(
    r"\b(?:(?P<early>early|beginning of|anfang|poczatek|poczatku|na poczatku)"
    r"|(?P<mid>mid|middle of|mitte|polowa|polowie|w polowie)"
    r"|(?P<late>late|end of|ende|koniec|koncu|pod koniec)"
    r"|(?P<in>in|im|w|during))[\s-]+(?P<m>" + _MONTH + r")\b(?!\s*\d{1,2}\b)(?:\s+" + _YEAR + r")?"
)


def _month_parts(text: str, sent: date | None) -> Iterator[_Day | _Unread]:
    """Parts of a month: early June, Mitte Juni, w czerwcu."""
    for found in _PART_OF_MONTH.finditer(text):
        month = MONTHS[found["m"]]
        first_day, last_day = (
            (1, 10)
            if found["early"]
            else (11, 20)
            if found["mid"]
            else (21, 31)
            if found["late"]
            else (1, 31)
        )
        dated = _dated(found["y"], month, first_day, sent)
        if dated is None:
            yield _Unread(span=found.span(), ask=True)
            continue
        year = dated[0].year
        month_end = (date(year + month // 12, month % 12 + 1, 1) - timedelta(days=1)).day
        last = date(year, month, min(last_day, month_end))
        if sent and not found["y"]:
            last = min(last, sent)
        yield _Day(first=dated[0], last=last, span=found.span(), doubts=dated[1])
