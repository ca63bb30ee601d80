"""The words that mail programs put around a forwarded or quoted mail, by language of their user.

They stand in header_words.toml: a language more is one table more there.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from triage.standards.data_files import toml_of


@dataclass(frozen=True, slots=True, kw_only=True)
class HeaderWords:
    """One language: names of header fields, marks above old mails, words of attributions.

    ``opening`` and ``wrote`` are how the line above quoted text begins and ends ("On ... Ada
    wrote:"); ``phone`` is how programs on phones sign by themselves; ``closing`` is the line above
    a writer's own name.
    """

    language: str
    sender: tuple[str, ...]
    date: tuple[str, ...]
    to: tuple[str, ...]
    subject: tuple[str, ...]
    forwarded: tuple[str, ...]
    original: tuple[str, ...]
    prefixes: tuple[str, ...]
    opening: tuple[str, ...]
    wrote: tuple[str, ...]
    phone: tuple[str, ...]
    closing: tuple[str, ...]
    months: tuple[str, ...]


LANGUAGES = tuple(
    HeaderWords(language=language, **{kind: tuple(words) for kind, words in own.items()})
    for language, own in toml_of("triage.mail", "header_words.toml").items()
)

_ANSWERS = "re|aw|odp|sv|antw|r|ref|rép"
_ANSWER = re.compile(rf"(?i)\s*(?:{_ANSWERS})\s?(?:\[\d{{1,4}}\])?\s?:\s*")


def is_answer(subject: str) -> bool:
    """Tell whether a subject begins as the answer to another mail does.

    Examples
    --------
    >>> is_answer("AW[2]: Teich"), is_answer("Response: none")
    (True, False)
    """
    return bool(_ANSWER.match(subject))


def with_own_subject(subject: str, text: str) -> str:
    """A text below its subject, below nothing where that is the other side's.

    The subject of a reply may name their place, not the author's.
    """
    return f"{'' if is_answer(subject) else subject}\n{text}"


def without_answer_prefixes(subject: str) -> str:
    """Return a subject without the prefixes that answering programs put before it.

    Examples
    --------
    >>> without_answer_prefixes("Re: AW: Odp: Alder Pool")
    'Alder Pool'
    """
    start = 0
    while match := _ANSWER.match(subject, start):
        start = match.end()
    return subject[start:]


def any_of(kind: str) -> str:
    """Return a pattern for every word of one kind, the longest first."""
    words = {word for language in LANGUAGES for word in getattr(language, kind)}
    return "|".join(re.escape(word) for word in sorted(words, key=lambda word: (-len(word), word)))
