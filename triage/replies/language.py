"""Tells in which of our languages a mail was written, so that its answer can be in the same."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


# Frequent short words that the other languages do not share (common practice, no source).
_WORDS: Mapping[str, frozenset[str]] = {
    "en": _words(
        "the and this that with from have was were not are you your we our my is it for of seen "
        "saw yesterday today at near by taken photo photos picture hello dear regards thanks"
    ),
    "de": _words(
        "der das und ist nicht ich ein eine mit auf für von dem den wir sie im am beim gestern "
        "heute gesehen foto bild anbei hallo guten tag liebe grüße viele danke habe war zum"
    ),
    "pl": _words(
        "nie się jest na że do nad z w i to dzień dobry wczoraj dzisiaj zdjęcie zdjęcia ważka "
        "ważki pozdrawiam pozdrowienia przesyłam dziękuję państwo jak przy mam był była"
    ),
    "fr": _words(
        "le les des une est et dans avec pour sur je nous vous au aux hier bonjour photo cette "
        "ci-joint libellule merci cordialement vu près du mon ma mes avons était étang"
    ),
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
