"""The words for days, months and times in English, German, Polish and French, as texts fold.

They stand in date_words.toml; here months, weekdays and days back become numbers.
"""

from __future__ import annotations

from triage.standards.data_files import toml_of

_FILE = toml_of("triage.metadata", "date_words.toml")


def _listed(kind: str) -> tuple[str, ...]:
    return tuple(_FILE[kind].split())


MONTHS: dict[str, int] = {
    word: number for number, words in enumerate(_FILE["months"], 1) for word in words.split()
}
ROMAN = {word: number for number, word in enumerate(_listed("roman"), 1)}
WEEKDAYS: dict[str, int] = {  # Monday is 0
    word: number for number, words in enumerate(_FILE["weekdays"]) for word in words.split()
}
WEEKDAYS |= {
    day + part: number
    for day, number in tuple(WEEKDAYS.items())
    if day.endswith("tag") or day in ("mittwoch", "sonnabend")
    for part in _listed("parts_of_day")
}
WEEKDAYS |= {
    stem + ending: number
    for number, stem in enumerate(_listed("of_weekdays"))
    for ending in _listed("endings_of_weekdays")
}
SHORT_WEEKDAYS: dict[str, int] = _FILE["short_weekdays"]
DAYS_BACK: dict[str, int] = {
    phrase: days for days, phrases in enumerate(_FILE["days_back"]) for phrase in phrases
}
NUMBER_WORDS: dict[str, int] = _FILE["numbers"]
FRENCH_WORDS, GERMAN_WORDS = _listed("french"), _listed("german")
CUES, LAST, NOT_PAST = _listed("cues"), _listed("last"), _listed("not_past")
LAST_YEAR, YEAR_BEFORE_LAST = ("|".join(_FILE[kind]) for kind in ("last_year", "year_before_last"))
YEAR_AGO, TWO_YEARS_AGO = ("|".join(_FILE[kind]) for kind in ("year_ago", "two_years_ago"))
SENDING, TO_COME = _listed("sending"), _listed("to_come")
