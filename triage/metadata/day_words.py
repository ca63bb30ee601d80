"""Tells where the words around a day say that it is the day of something else than the photo.

The day of something written, of an event that is thanked for, or on which an old picture was found
or received: such a day is no second one, and alone it is asked about. Every other day must stand
in a safe form (triage.metadata.day_forms). English, German, Polish and French; no source: chosen
from how people write, and what they must and must not match stands in the tests.
"""

from __future__ import annotations

import re

from triage.metadata.text_spans import patterns_of

_REACH = 160  # characters of the sentence on either side that are looked at
_WORDS = patterns_of("day_words.toml")
# The day of something that is thanked for, in the same clause and with no photo in it.
_THANKED = re.compile(
    r"(?<!\w)(?:thanks?(?:\syou)?\sfor|merci\s(?:pour|de)|dank\w*\sfur|dziek\w+\sza)"
    r"(?:\s(?!(?:this|these|photos?|pictures?|ones?|dies\w*|fotos?|bild\w*|t[aeo]|zdjec\w+|cette|ce)\b)"
    r"[^\s,;:]+){0,6}\s*$"
)


def doubt_of_day(before: str, words: str, after: str) -> str:
    """Why a day in a text is no statement of when the photo was taken; empty if it may be.

    ``before`` and ``after`` are the folded text on either side of the day.

    Examples
    --------
    >>> doubt_of_day("seen ", "yesterday", " at the pond")
    ''
    >>> doubt_of_day("thanks for the newsletter of ", "3 august", ".")
    "'newsletter ... 3 august' may be the day of something written or of an event"
    """
    ahead = re.split(r"[.!?;\n]\s+|\n", before[-_REACH:])[-1]
    behind = re.split(r"[.!?;\n]\s|\n", after[:_REACH])[0]
    if doubt := of_what_is_written(ahead, words):
        return doubt
    whole = f"{ahead} {words} {behind}"
    if received := _WORDS["received"].search(whole):
        return f"'{received[0]}': {words} may be the day on which the picture was found or received"
    return ""


def of_what_is_written(ahead: str, words: str) -> str:
    """Why a day behind the folded words of its sentence is of what is written or thanked for."""
    if found := _last(_WORDS["written"], ahead):
        return f"'{found} ... {words}' may be the day of something written or of an event"
    if thanked := _THANKED.search(ahead):
        return f"'{thanked[0].strip()} {words}' may be the day of what is thanked for"
    return ""


def old_picture(text: str) -> str:
    """The words of a folded text for a picture of another time, empty if there are none.

    >>> old_picture("i scanned an old slide")
    'old slide'
    """
    found = _WORDS["old_picture"].search(text)
    return found[0] if found else ""


def day_after_another(text: str) -> str:
    """The words of a folded text for a day that hangs on another one, empty if there are none.

    >>> day_after_another("the photo is from the day before")
    'the day before'
    """
    found = _WORDS["anchored"].search(text)
    return found[0] if found else ""


def _last(pattern: re.Pattern[str], text: str) -> str:
    found = list(pattern.finditer(text))
    return found[-1][0] if found else ""
