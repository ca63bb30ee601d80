"""The days that a mail names in, the one that it says of the photo itself out.

"Your talk on 2 June was great. The picture is from yesterday": the second says when the photo was
taken, the first is of an event. English, German, Polish and French; no source: chosen from how
people write (day_words.toml), and what they must and must not match stands in the tests.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from triage.metadata.day_words import of_what_is_written
from triage.metadata.days_found import MENTIONS, Day
from triage.metadata.text_spans import SITE, blanked, fold_letters, patterns_of
from triage.metadata.told_words import CLAUSE, NEGATION, OF_OTHERS, TOLD, UNSURE, sentence_around

_WORDS = patterns_of("day_words.toml")
_AT_SITE = re.compile(rf"(?:(?:at|by|near|am|an|im|in|bei|nad|przy|na|a|au|aux|dans)\s)?{SITE}+")


def day_of_the_photo(days: Sequence[Day], shown: str) -> Day | None:
    """The one day that is said of the photo itself, where every other is the day of an event.

    ``shown`` is the text with the names of sites as SITE; none where it names days without end.

    >>> from triage.metadata.text_dates import days_named
    >>> from datetime import datetime
    >>> text = "Your talk on 2 June was great. The picture is from yesterday."
    >>> days, _, _ = days_named(text, text, datetime(2026, 6, 16))
    >>> day_of_the_photo(days, text).first.isoformat()
    '2026-06-15'
    """
    if len(days) > MENTIONS:
        return None
    told = [day for day in days if _is_said_of_the_photo(day, shown)]
    which = {(day.first, day.last) for day in told}
    others = [day for day in days if (day.first, day.last) not in which]
    if len(which) != 1 or not all(_is_of_an_event(day, shown) for day in others):
        return None
    return told[0]


def denial_of_day(day: Day, shown: str) -> str:
    """Why a day is not the photo's where a mail says so itself; empty where it does not.

    >>> from datetime import date
    >>> day = Day(first=date(2026, 6, 15), last=date(2026, 6, 15), span=(24, 33))
    >>> denial_of_day(day, "The picture is not from yesterday.")
    "'The picture is not from yesterday' says that the photo is of another day"
    """
    ahead, _ = _around(day, shown)
    clause = CLAUSE.split(ahead)[-1]
    plain = re.sub(r"n't\b", " not", re.sub(r"\bne\s|\bn'(?=[a-z])", "", fold_letters(clause)))
    if not NEGATION.search(plain) or not _says_when(NEGATION.sub(" ", plain)):
        return ""
    words = " ".join(f"{clause}{shown[slice(*day.span)]}".replace(SITE, "").split())
    return f"'{words}' says that the photo is of another day"


def _says_when(clause: str) -> bool:
    """Whether a folded clause ahead of a day says when the photo was taken."""
    said = " ".join(_AT_SITE.sub(" ", clause).split())
    return _WORDS["of_the_photo"].fullmatch(said) is not None


def _is_said_of_the_photo(day: Day, shown: str) -> bool:
    ahead, behind = _around(day, shown)
    whole = f"{ahead} {behind}"
    if any(p.search(whole) for p in (NEGATION, UNSURE, OF_OTHERS)) or _asks(day, shown, behind):
        return False
    clause, after = fold_letters(CLAUSE.split(ahead)[-1]), fold_letters(behind)
    if _WORDS["not_sure"].search(after):
        return False
    made = _WORDS["made"].fullmatch(clause.strip()) and _WORDS["taken_behind"].search(after)
    return bool(made) or _says_when(clause)


def _is_of_an_event(day: Day, shown: str) -> bool:
    """Whether a sentence tells of an event, or of something written, and of nothing seen."""
    ahead, behind = _around(day, shown)
    whole = f"{ahead} {shown[slice(*day.span)]} {behind}"
    folded = fold_letters(whole)
    events = [found.span() for found in _WORDS["events"].finditer(folded)]
    if not events and not of_what_is_written(fold_letters(ahead), ""):
        return False
    seen = TOLD["done"].search(blanked(whole, events)) or _WORDS["photos"].search(folded)
    return not seen and SITE not in whole


def _around(day: Day, shown: str) -> tuple[str, str]:
    first, last = day.span
    last -= len(shown[first:last]) - len(shown[first:last].rstrip(" \n,;:(."))
    return sentence_around(shown[:first], shown[last:])


def _asks(day: Day, shown: str, behind: str) -> bool:
    rest = shown[day.span[1] :].lstrip(" \n,;:(")
    return rest[: len(behind) + 1].rstrip().endswith("?")
