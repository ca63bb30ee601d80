"""Find the days that a folded text names in words: 14 June, gestern, early May."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date, timedelta

from triage.metadata.date_words import (
    CUES,
    DAYS_BACK,
    FRENCH_WORDS,
    GERMAN_WORDS,
    LAST,
    MONTHS,
    NOT_PAST,
    NUMBER_WORDS,
    ROMAN,
    SENDING,
    TO_COME,
    WEEKDAYS,
)
from triage.metadata.days_found import (
    BEFORE,
    MONTH,
    ORDINAL,
    ROMAN_NUMBER,
    UNTIL,
    YEAR,
    Day,
    Unread,
    day_of,
    no_such_days,
    stated_weekday,
)
from triage.metadata.last_years import LAST_YEARS, year_of
from triage.metadata.text_spans import SITE, Span, blanked, words_around

_DAY_MONTH = re.compile(
    rf"{BEFORE}(?<![\d.,:/-])(?P<d>[0-3]?\d){ORDINAL}"
    rf"(?:{UNTIL}(?P<e>[0-3]?\d){ORDINAL})?\s*(?:of\s+)?"
    rf"(?:(?P<m>{MONTH})\b|(?P<r>(?<=[\s.])(?:{ROMAN_NUMBER})\b(?=\.|\s+(?:19|20)\d\d|(?<=[ivx]{{2}})\s*(?:\n|$|,))))"
    rf"(?:[.,]?\s*(?:{YEAR}|'?(?P<yy>\d\d)(?![\d.:,/]|\s*(?:bis|to|till|do|-)\s*\d|\s*(?:uhr|h\b|am\b|pm\b|[kc]m|m\b|mm)))?)?"
)
_MONTH_DAY = re.compile(
    rf"{BEFORE}\b(?P<m>{MONTH})\.?\s+(?:the\s+)?(?P<d>[0-3]?\d)(?:st|nd|rd|th)?"
    rf"(?:{UNTIL}(?P<e>[0-3]?\d)(?:st|nd|rd|th)?)?(?![\d:%])(?![.,/]\d)"
    rf"(?:,?\s+{YEAR})?"
)
_TWO_MONTHS = re.compile(
    rf"(?<![\d.,:/-])(?P<d>[0-3]?\d){ORDINAL}\s*(?P<m>{MONTH})\b{UNTIL}"
    rf"(?P<e>[0-3]?\d){ORDINAL}\s*(?P<n>{MONTH})\b(?:[.,]?\s*{YEAR})?"
)


def written_out(text: str, sent: date | None) -> Iterator[Day | Unread]:
    """Days with the month's name: 14 June, June 14th, 14. Juni, 14 czerwca, 14.VI.2026."""
    done: list[Span] = []
    for found in _TWO_MONTHS.finditer(text):
        first = day_of(found["y"], MONTHS[found["m"]], int(found["d"]), sent)
        last = day_of(found["y"], MONTHS[found["n"]], int(found["e"]), sent)
        if first and last and first[0] <= last[0]:
            done.append(found.span())
            yield Day(first=first[0], last=last[0], span=found.span(), doubts=first[1])
    text = blanked(text, done)
    for pattern in (_DAY_MONTH, _MONTH_DAY):
        done = []
        for found in pattern.finditer(text):
            groups = found.groupdict()
            year = groups.get("y") or groups.get("yy")
            month = MONTHS[groups["m"]] if groups.get("m") else ROMAN[groups["r"] or ""]
            if pattern is _MONTH_DAY and groups["m"] in ("may", "mar") and not _surely(found):
                continue
            dated = day_of(year, month, int(groups["d"]), sent)
            last = day_of(year, month, int(groups["e"]), sent) if groups["e"] else dated
            if dated is None or last is None or last[0] < dated[0]:
                surely = year if groups.get("m") in (None, "may", "mar") else True
                ends = int(groups["e"] or groups["d"])
                days = (month, int(groups["d"])), (month, ends)
                why = no_such_days(year, *days) if surely else ""  # 31 June, 14-12 June
                if why or (sent is None and not year):
                    done.append(found.span())
                    yield Unread(span=found.span(), ask=True, why=why)
                continue
            done.append(found.span())
            yield Day(
                first=dated[0],
                last=last[0],
                span=found.span(),
                doubts=dated[1],
                weekday=stated_weekday(groups["wd"], dated[0]),
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


_PHRASES = re.compile(
    r"\b(?:the )?("
    + "|".join(sorted(DAYS_BACK, key=len, reverse=True)).replace(" ", r"\s+")
    + r")\b"
)
_LIKENED = re.compile(r"\b(?:as|like|than|to)\s+$")
_AGO = re.compile(
    r"\b(?:(?P<n>\d{1,3}|"
    + "|".join(NUMBER_WORDS)
    + r")\s+(?P<u>days?|weeks?|dni|tygodnie|tydzien|tygodni)\s+(?:ago|temu)"
    r"|(?:vor|il y a)\s+(?P<n2>\d{1,3}|"
    + "|".join(NUMBER_WORDS)
    + r")\s+(?P<u2>tagen|tag|wochen|woche|jours?|semaines?))\b"
)
_FEW_DAYS = re.compile(
    r"\b(?:a (?:few|couple of) days ago|vor (?:ein paar|einigen|wenigen) tagen|kilka dni temu)\b"
)
_WEEK_AGO = re.compile(r"\btydzien temu\b")
_LAST_MONTH = re.compile(
    r"\b(?:w\s+|im\s+)?(?:(?:" + "|".join(LAST) + r")\s+(?:month|monat|miesiacu|miesiac)\b"
    rf"|{LAST_YEARS})"
)
_ORDINAL_DAY = re.compile(r"\bon the (?P<d>[0-3]?\d)(?:st|nd|rd|th)\b")
_WEEKEND = re.compile(
    r"\b(?:(?P<last>(?:w\s+|am\s+)?(?:" + "|".join(LAST) + r"))"
    r"|(?P<this>this|dieses|w ten|(?:at|on|over|during|from)\s+the|am|w))"
    r"\s+(?:week-?end|wochenende)\b"
)
_WEEK = re.compile(r"\b(?:" + "|".join(LAST) + r")\s+(?:week|woche|tygodniu|tydzien)\b")


def relative(text: str, sent: date | None) -> Iterator[Day | Unread]:
    """Days by the day of the mail: yesterday, vor zwei Tagen, w weekend."""
    french = "hier" in text and _is_french(text)  # asked once: a text may say it often
    for found in _PHRASES.finditer(text):
        back = DAYS_BACK[" ".join(found[1].split())]
        if found[1] == "hier" and not french:
            continue
        before = text[max(0, found.start() - 12) : found.start()]
        if text.startswith("'s", found.end()) and _LIKENED.search(before):
            continue  # "the same place as yesterday's photos"
        if back == 0 and _day_of_writing(text, found.span()):
            continue
        yield from _back(found.span(), back, back, sent)
    for found in _AGO.finditer(text):
        number = found["n"] or found["n2"]
        unit = found["u"] or found["u2"]
        count = int(number) if number.isdigit() else NUMBER_WORDS[number]
        if unit.startswith(("week", "woche", "ty", "semaine")):
            yield from _back(found.span(), 7 * count + 3, 7 * count - 3, sent)
        else:
            yield from _back(found.span(), count, count, sent)
    for pattern, most, least in ((_FEW_DAYS, 7, 2), (_WEEK_AGO, 10, 4)):
        for found in pattern.finditer(text):
            yield from _back(found.span(), most, least, sent)
    for found in _LAST_MONTH.finditer(text):
        yield _last_month_or_year(found, sent)
    for found in _ORDINAL_DAY.finditer(text):
        day = _latest_of_number(int(found["d"]), sent)
        yield (
            Day(first=day, last=day, span=found.span())
            if day
            else Unread(span=found.span(), ask=sent is None)
        )
    beside = _without_next_to(text)
    for found in _WEEKEND.finditer(text):
        if sent is None:
            yield Unread(span=found.span(), ask=True)
        elif found["last"] or not _to_come(beside, found.span()):
            in_progress = sent.weekday() >= 5 and not found["last"]
            back = sent.weekday() - 5 if in_progress else sent.weekday() + 2
            first = sent - timedelta(days=back)
            yield Day(first=first, last=min(first + timedelta(days=1), sent), span=found.span())
    for found in _WEEK.finditer(text):
        start = sent.weekday() + 7 if sent else 0
        yield from _back(found.span(), start, start - 6, sent)


_YEAR_ALONE = re.compile(
    r"(?:\b(?:in|from|of|since|summer|spring|autumn|aus|von|im jahr|sommer|z|w|roku|lato|latem"
    rf"|de|en|ete)\s+|(?<={SITE})[\s,]{{1,3}})"
    r"(?P<y>(?:19|20)\d\d)\b(?![./:-]\d|\s*(?:m\b|km|photos?|bilder))"
)


def other_years(text: str, sent: date | None) -> Iterator[Day | Unread]:
    """A year alone, where it is not the mail's: "in 2019", "aus 1998"."""
    for found in _YEAR_ALONE.finditer(text):
        year = int(found["y"])
        if sent is None or year < sent.year:
            yield Day(first=date(year, 1, 1), last=date(year, 12, 31), span=found.span())


def _last_month_or_year(found: re.Match[str], sent: date | None) -> Day | Unread:
    if sent is None:
        return Unread(span=found.span(), ask=True)
    if found["last_year"] or found["before_last"]:
        year = year_of(found, sent)
        first, last = date(year, 1, 1), date(year, 12, 31)
    else:
        last = sent.replace(day=1) - timedelta(days=1)
        first = last.replace(day=1)
    return Day(first=first, last=last, span=found.span())


def _latest_of_number(number: int, sent: date | None) -> date | None:
    """Return the latest day up to the mail that has this number in its month."""
    if sent is None:
        return None
    for back in range(62):
        day = sent - timedelta(days=back)
        if day.day == number:
            return day
    return None


def _is_french(text: str) -> bool:
    """Tell whether "hier" is yesterday; a word of both languages tells nothing."""
    words = re.findall(r"[^\W\d_]+", text)
    french = sum(word in FRENCH_WORDS for word in words)
    return french > sum(word in GERMAN_WORDS for word in words)


def _day_of_writing(text: str, span: Span) -> bool:
    """Tell whether "today" is said of the mail: "I send these today", not "photos from today"."""
    before = text[max(0, span[0] - 12) : span[0]].split()[-1:]
    if before in (["from"], ["of"], ["von"], ["vom"], ["z"]):
        return False
    return bool(set(words_around(text, span)) & set(SENDING))


def _without_next_to(text: str) -> str:
    """The text with "near to" for "next to", which tells of no day to come."""
    return re.sub(r"\bnext(?=\sto\b)", "near", text)


def _to_come(text: str, span: Span) -> bool:
    before = text[max(0, span[0] - 12) : span[0]].split()[-1:]
    return before in (["bis"], ["until"]) or bool(set(words_around(text, span)) & set(TO_COME))


def _back(span: Span, first: int, last: int, sent: date | None) -> Iterator[Day | Unread]:
    if sent is None:
        yield Unread(span=span, ask=True)
    else:
        yield Day(
            first=sent - timedelta(days=first), last=sent - timedelta(days=max(0, last)), span=span
        )


_DAY_NAMED = re.compile(
    r"\b(?P<q>(?:" + "|".join((*LAST, *NOT_PAST, "on", "this", "am", "w", "we")) + r")\s+){0,4}"
    r"(?P<wd>" + "|".join(word for word in WEEKDAYS if len(word) > 3) + r")\b(?!'(?!s\b))"
    r"(?:\s+(?:prochaine?|derniere?|passee?)\b)?"
)


def weekdays(text: str, sent: date | None) -> Iterator[Day | Unread]:
    """Weekdays without a date: the latest one before the day of the mail."""
    beside = _without_next_to(text)
    for found in _DAY_NAMED.finditer(text):
        words = found[0].split()
        last_said = any(word in LAST for word in words)
        planned = not last_said and _to_come(beside, found.span())
        if planned or any(word in NOT_PAST for word in words):
            yield Unread(span=found.span(), ask=False)
        elif sent is None:
            yield Unread(span=found.span(), ask=True)
        else:
            back = (sent.weekday() - WEEKDAYS[found["wd"]]) % 7
            if back == 0 and last_said:
                back = 7
            day = sent - timedelta(days=back)
            if back == 0:
                before = day - timedelta(days=7)
                doubt = f"the mail was sent on that weekday: {day} or {before} may be meant"
                ask = f"Is {{words}} {before} or {day}?"
                yield Day(first=day, last=day, span=found.span(), doubts=(doubt,), question=ask)
            else:
                yield Day(first=day, last=day, span=found.span())


_PART_OF_MONTH = re.compile(
    r"\b(?:(?P<early>early|beginning of|anfang|poczatek|poczatku|na poczatku)"
    r"|(?P<mid>mid|middle of|mitte|polowa|polowie|w polowie)"
    r"|(?P<late>late|end of|ende|koniec|koncu|pod koniec)"
    r"|(?P<in>in|im|w|during)|(?P<bare>(?<!\w)))[\s-]*(?<!\w)(?P<m>"
    + MONTH
    + r")\b(?!\s*\d{1,2}\b)(?:\s+"
    + YEAR
    + r")?"
)


def month_parts(text: str, sent: date | None) -> Iterator[Day | Unread]:
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
        if found["bare"] is not None and not found["y"]:
            continue  # a month's name alone may be a person's or a verb
        dated = day_of(found["y"], month, first_day, sent)
        if dated is None:
            yield Unread(span=found.span(), ask=True)
            continue
        year = dated[0].year
        month_end = (date(year + month // 12, month % 12 + 1, 1) - timedelta(days=1)).day
        last = date(year, month, min(last_day, month_end))
        if sent and not found["y"]:
            last = min(last, sent)
        yield Day(first=dated[0], last=last, span=found.span(), doubts=dated[1])
