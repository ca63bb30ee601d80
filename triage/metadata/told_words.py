"""The words by which people tell what they saw, and the sentence in which they stand.

They stand in told_words.toml; what they must and must not match stands in the tests of places and
of days (tests/data/mails).
"""

from __future__ import annotations

import re

from triage.metadata.date_words import MONTHS, ROMAN, WEEKDAYS
from triage.metadata.text_spans import fold_letters, whole_words, word_set
from triage.standards.data_files import toml_of

_SENTENCE_END = re.compile(r"[.!?;\n]")
# "13.06.", "13. Juni", "z. B."; a figure before a capital ends its sentence.
_ABBREVIATED = re.compile(
    r"(?<=\d)\.(?=\S|\s+[a-zà-ž\d]|\s+(?:Jan|Feb|M\wr|Apr|Mai|Jun|Jul|Aug|Sep|Okt|Nov|Dez))"
    r"|(?<=[ivxIVX])\.(?=\s?\d)|(?<=\d\.[1-9])\.|(?<=\d\.[01]\d)\.|(?<=\b[a-zA-Z])\."
    r"|(?<=\b(?:ok|ca|nr|Nr))\.|(?<=\b[Nn]o)\.(?=\s?\d)"
)
_FILE = toml_of("triage.metadata", "told_words.toml")
TOLD = {kind: whole_words("|".join(said)) for kind, said in _FILE.items() if kind != "words"}
WORDS = {kind: word_set(said) for kind, said in _FILE["words"].items()}
THIS, SEEN, SPEAKS = TOLD["this"], TOLD["seen"], TOLD["speaks"]
FIRST_PERSON, OF_OTHERS, TOGETHER = TOLD["first_person"], TOLD["of_others"], TOLD["together"]
REQUEST, UNSURE, HABIT = TOLD["request"], TOLD["unsure"], TOLD["habit"]
NEGATION, QUALITY = TOLD["negation"], TOLD["quality"]
SMALL = WORDS["small"]
COMMA = re.compile(r"[,:;]|\s[\u2013\u2014-]\s")
CLAUSE = re.compile(r"[,:;]|\s[\u2013\u2014-]\s|\s(?:and|und|i|oraz|et)\s")


LONGEST = 400  # characters: what is longer is no sentence whose form is known


def sentence_around(before: str, after: str) -> tuple[str, str]:
    """What stands before and after the name in its own sentence, at most LONGEST of each."""
    before, after = before[-LONGEST:], after[:LONGEST]
    hidden = _ABBREVIATED.sub(",", before)
    start = max((found.end() for found in _SENTENCE_END.finditer(hidden)), default=0)
    end = _SENTENCE_END.search(_ABBREVIATED.sub(",", after))
    return before[start:].lstrip(), after[: end.start() if end else len(after)]


def is_plain(ahead: str, behind: str) -> bool:
    """Whether the sentence holds nothing besides the name but days, times, and small words."""
    words = re.findall(r"[^\W\d_]+", f"{ahead} {behind}".casefold())
    return all(word in SMALL or is_of_a_day(word) for word in words)


def is_of_a_day(word: str) -> bool:
    folded = fold_letters(word)
    return folded in MONTHS or folded in WEEKDAYS or folded in ROMAN
