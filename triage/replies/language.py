"""Tells in which of our languages a mail was written, so that its answer can be in the same."""

from __future__ import annotations

import re
from collections import Counter

from triage.standards.data_files import toml_of

_WORDS = {
    language: frozenset(words.split())
    for language, words in toml_of("triage.replies", "language.toml").items()
}
LEAST_WORDS = 3  # that speak for a language before a mail counts as written in it


def language_of(text: str, *, otherwise: str) -> str:
    """The language of a mail's own words: en, de, pl or fr; ``otherwise`` where too little tells.

    >>> language_of("Hallo, anbei ein Foto, das ich gestern am Teich gemacht habe.", otherwise="en")
    'de'
    >>> language_of("IMG_1234", otherwise="pl")
    'pl'
    """
    words = Counter(re.findall(r"[^\W\d_]+(?:-[^\W\d_]+)*", text.casefold()))
    scores = {
        language: sum(count for word, count in words.items() if word in known)
        for language, known in _WORDS.items()
    }
    first, second = sorted(scores.values(), reverse=True)[:2]
    if first < LEAST_WORDS or first == second:
        return otherwise
    return max(scores, key=lambda language: scores[language])
