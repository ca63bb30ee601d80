"""The words of a mail in, the sentence that says a camera's clock is wrong, and by how much, out.

English, German, Polish and French; no source: chosen from how people write, and what they must and
must not match stands in the tests. A sentence read in vain costs a look;
nothing is corrected by it alone.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from triage.mail.consent import sentences_of
from triage.metadata.camera_clock import CameraCorrection, CameraTime
from triage.metadata.text_spans import patterns_of

READ = 20_000  # characters
WORDS_UNCERTAINTY_SECONDS = 300.0  # of an error told in words: our own guess, five minutes
_WORDS = patterns_of("clock_words.toml")
BESIDE = 5  # characters between the parts of one span: "1 h and 7 min"
_SHOWN = re.compile(
    r"(?<![\w.:])(?:(?P<day>\d{1,2})(?:st|nd|rd|th|\.(?=[\s,]|\d{1,2}\b))|\d{1,2}[:.]\d\d)(?![\w:])",
    re.IGNORECASE,
)
_HALF = r"half\s(?:an?\s)?|halben?\s|halbe\s|pół\s|une?\sdemi-?\s?|demi-?"
_NUMBERS = {
    1: "a an one exactly ein eine einen einem einer jeden jedną jeden o d'une d'un une un",
    2: "two zwei dwa dwie deux",
    3: "three drei trzy trois",
    4: "four vier cztery quatre",
    5: "five fünf pięć cinq",
    6: "six sechs sześć",
    7: "seven sieben siedem sept",
    8: "eight acht osiem huit",
    10: "ten zehn dziesięć dix",
    12: "twelve zwölf dwanaście douze",
}
_VALUES = {word: value for value, words in _NUMBERS.items() for word in words.split()}
_UNITS = (
    (60.0, "min(?:ut\\w*|s)?\\.?"),
    (3600.0, "hours?|hrs?|h|stunden?|std\\.?|godzin\\w*|godz\\.?|heures?"),
    (86_400.0, "days?|tage?n?|dzień|dni|jours?"),
)
_SPAN = re.compile(
    rf"(?<!\w)(?:(?P<half>{_HALF})|(?P<figures>\d{{1,3}})\s?|(?P<word>[^\W\d]+|d['\u2019]une?)\s)"
    + "(?:"
    + "|".join(f"(?P<u{number}>{unit})" for number, (_, unit) in enumerate(_UNITS))
    + r")(?!\w)",
    re.IGNORECASE,
)
_CLAUSE = re.compile(r"(?:(?! - )[^.!?;,\n\u2013\u2014])+")
_HOUR_ALONE = re.compile(r"(?<!\w)o\s(?P<unit>godzinę|dzień|minutę)(?!\w)", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class ClockWords:
    """A sentence that doubts a camera's clock. ``seconds`` is what must be added to what it shows.

    Two values, one of each sign, where the words do not say whether it is slow or fast; none where
    they do not say by how much. ``season`` is the time that the clock is said to show.
    """

    sentence: str = ""
    seconds: tuple[float, ...] = ()
    season: str = ""


def read_clock_words(text: str) -> ClockWords:
    """The first sentence that says that a camera's clock is wrong; an empty one for none.

    Examples
    --------
    >>> read_clock_words("Hello. My camera clock is one hour slow.").seconds
    (3600.0,)
    >>> read_clock_words("The camera was in my bag for two hours.").sentence
    ''
    """
    for sentence in sentences_of(text[:READ]):
        if not _WORDS["clock"].search(sentence):
            continue
        season = "winter" if _WORDS["winter"].search(sentence) else ""
        season = season or ("summer" if _WORDS["summer"].search(sentence) else "")
        span = _span(sentence)
        behind, ahead = (
            bool(_WORDS["behind"].search(sentence)),
            bool(_WORDS["ahead"].search(sentence)),
        )
        wrong = bool(_WORDS["wrong"].search(sentence))
        told = bool(_WORDS["time"].search(sentence)) and (
            wrong or ((behind or ahead) and _of_clock(sentence))
        )
        told = told or (span is not None and (behind or ahead or wrong)) or _shows_another(sentence)
        if season or told or _WORDS["zone"].search(sentence):
            return ClockWords(
                sentence=sentence, seconds=_signed(span, behind, ahead), season=season
            )
    return ClockWords()


def clock_spans(text: str) -> list[tuple[int, int]]:
    """Where a text speaks of a wrong clock: what stands there tells of no place and no day.

    >>> clock_spans("At Alder Pool, my camera clock is wrong.")
    [(14, 39)]
    """
    return [
        clause.span() for clause in _CLAUSE.finditer(text) if read_clock_words(clause[0]).sentence
    ]


def corrections_said(
    words: ClockWords, photos: Sequence[CameraTime], *, zone: str
) -> tuple[CameraCorrection, ...]:
    """What the words suggest for all photos of a mail: one correction, or one of each sign.

    A clock on winter time is an hour slow on a day of summer time of ``zone`` (IANA), else right.
    """
    taken = [photo for photo in photos if photo.exif.date_time_original]
    seconds = words.seconds
    if not seconds and words.season and taken:
        seconds = _of_season(words.season, taken[0].exif.date_time_original, zone)
    if len(seconds) > 1:
        seconds = tuple(one for one in seconds if not _is_to_come(taken, one, zone)) or seconds
    return tuple(
        CameraCorrection(
            camera="",
            offset_seconds=one,
            uncertainty_seconds=WORDS_UNCERTAINTY_SECONDS,
            photos=tuple(photo.photo for photo in taken),
            reason=f"the mail says: '{words.sentence}'",
        )
        for one in (seconds if taken else ())
    )


def _shows_another(sentence: str) -> bool:
    """Whether a sentence says what a clock shows, and another day or time beside it."""
    if not _WORDS["shows"].search(sentence):
        return False
    shown = {(bool(one["day"]), one["day"] or one[0]) for one in _SHOWN.finditer(sentence)}
    return len(shown) > len({is_day for is_day, _ in shown})


def _of_clock(sentence: str) -> bool:
    """Whether slow or fast is said of a clock and of nothing that moves."""
    return re.search(r"(?i)clock|uhr|zegar|horloge|time|zeit|czas|heure", sentence) is not None


def _span(sentence: str) -> float | None:
    """The span of time that a sentence names, in seconds; None for none or several.

    "1 h 7 min" is one: what stands side by side is added up.
    """
    found: list[float] = []
    end = -len(sentence)
    for one in _SPAN.finditer(sentence):
        number = next(number for number in range(len(_UNITS)) if one[f"u{number}"])
        seconds = _count(one) * _UNITS[number][0]
        if seconds and found and one.start() - end <= BESIDE:
            found[-1] += seconds
        elif seconds:
            found.append(seconds)
        end = one.end()
    for alone in _HOUR_ALONE.finditer(sentence):
        found.append({"g": 3600.0, "d": 86_400.0, "m": 60.0}[alone["unit"].casefold()[0]])
    different = set(found)
    return different.pop() if len(different) == 1 else None


def _count(one: re.Match[str]) -> float:
    if one["half"]:
        return 0.5
    if one["figures"]:
        return float(one["figures"])
    return float(_VALUES.get(one["word"].casefold().replace("\u2019", "'"), 0))


def _signed(span: float | None, behind: bool, ahead: bool) -> tuple[float, ...]:
    if not span:
        return ()
    if behind == ahead:
        return (span, -span)
    return (span,) if behind else (-span,)


def _is_to_come(photos: Sequence[CameraTime], seconds: float, zone: str) -> bool:
    """Whether a clock put right so would show a time after the mail was sent."""
    for photo in photos:
        shown = datetime.fromisoformat(photo.exif.date_time_original + photo.exif.offset_time)
        shown = shown if shown.tzinfo else shown.replace(tzinfo=ZoneInfo(zone or "UTC"))
        if photo.sent_at is not None and shown + timedelta(seconds=seconds) > photo.sent_at:
            return True
    return False


def _of_season(season: str, clock_time: str, zone: str) -> tuple[float, ...]:
    shown = datetime.fromisoformat(clock_time).replace(tzinfo=ZoneInfo(zone or "UTC"))
    summer = bool(shown.dst())
    if (season == "summer") == summer:
        return ()  # it shows what the wall clocks showed
    hour = timedelta(hours=1).total_seconds()
    return (hour,) if summer else (-hour,)
