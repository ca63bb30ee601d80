"""Find whole words in a text, and blank out parts of it and keep the positions of the rest."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator

from triage.standards.data_files import toml_of

Span = tuple[int, int]
SITE = "\ufffc"  # stands for each letter of a site's name where days are read: it is no word

_LINK = re.compile(r"https?://|www\.", re.IGNORECASE)
_ADDRESS_END = re.compile(r"@[^\s@]+\.\w+")


def word_set(words: str) -> frozenset[str]:
    """Return the words of a list that is written with white space between them."""
    return frozenset(words.split())


def whole_words(pattern: str) -> re.Pattern[str]:
    """Return a pattern, in verbose form, that matches whole words only, in capitals or not.

    >>> [bool(whole_words("seen|saw").search(text)) for text in ("Seen here", "unseen")]
    [True, False]
    """
    return re.compile(rf"(?<!\w)(?:{pattern})(?!\w)", re.IGNORECASE | re.VERBOSE)


def patterns_of(name: str) -> dict[str, re.Pattern[str]]:
    """Read a file of this package: by kind a pattern of any of its whole words."""
    words = toml_of("triage.metadata", name)
    return {kind: whole_words("|".join(entries)) for kind, entries in words.items()}


def blanked(text: str, spans: Iterable[Span], *, by: str = " ") -> str:
    """Return the text with each span replaced by as many spaces, or another mark.

    >>> blanked("at 53.9, 21.7 today", [(3, 13)])
    'at            today'
    """
    letters = list(text)
    for start, end in spans:
        letters[start:end] = by * (end - start)
    return "".join(letters)


def without_links(text: str) -> str:
    """Return the text with links and mail addresses blanked: their digits are no dates.

    >>> without_links("see https://example.org/2026/06/14 now")
    'see                                now'
    """
    return blanked(text, _links(text))


def _links(text: str) -> Iterator[Span]:
    """Where links and addresses stand: each word is looked at once, however long it is."""
    for word in re.finditer(r"\S+", text):
        if address := _ADDRESS_END.search(word[0]):
            yield word.start(), word.start() + address.end()
        elif link := _LINK.search(word[0]):
            yield word.start() + link.start(), word.end()


_FOLDS = str.maketrans("łøđß", "lods")  # letters that Unicode does not take apart


def _bare(letter: str) -> str:
    """A letter without its accent, always one character."""
    lowered = letter.lower()
    return unicodedata.normalize("NFD", lowered)[0] if len(lowered) == 1 else letter


def fold_letters(text: str) -> str:
    """Return the text in lower case without diacritics, one character for one.

    >>> fold_letters("Środa, 14. März")
    'sroda, 14. marz'
    """
    lowered = "".join(map(_bare, text)).translate(_FOLDS)
    return re.sub("[\u00a0\u2009\u202f\t]", " ", lowered).translate(
        {0x2013: "-", 0x2014: "-", 0x2012: "-", 0x2212: "-", 0x2019: "'"}
    )


def words_around(text: str, span: Span) -> list[str]:
    """Return the words of the sentence in which a span stands.

    >>> words_around("It rained. See you on Sunday! Bye", (22, 28))
    ['See', 'you', 'on', 'Sunday']
    """
    before = re.split(r"[.!?;\n](?=\s)", text[max(0, span[0] - 200) : span[0]])[-1]
    after = re.split(r"[.!?;\n]", text[span[1] : span[1] + 200])[0]
    return re.findall(r"[^\W\d_]+", before + text[slice(*span)] + after)


MAX_CHARACTERS = 20_000  # of one text that are read; a longer one is a pasted document, not a note
SHORT_MAIL = 8  # words; too few to be unlike others


def is_short(text: str) -> bool:
    """Whether a mail has too few words to be unlike others."""
    return len(re.findall(r"[^\W_]+", text)) <= SHORT_MAIL
