"""Mark in a text the words that claims of time and place were read from."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

Mark = Literal["", "time", "place", "time and place"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A stretch of a text, and of what a claim was read there (empty: of nothing)."""

    text: str
    mark: Mark = ""


def mark_words(text: str, times: Iterable[str], places: Iterable[str]) -> tuple[Piece, ...]:
    """Cut a text where words begin and end from which a time or a place was read.

    Claims keep the words with single spaces, and a day with its hour as "day, hour": so any white
    space matches a space, and where the whole is not found its parts at commas are. The pieces
    joined are the text again.

    Examples
    --------
    >>> [(p.text, p.mark) for p in mark_words("Mere, 19 July", ["19 July"], ["Mere"])]
    [('Mere', 'place'), (', ', ''), ('19 July', 'time')]
    """
    marks: list[set[str]] = [set() for _ in text]
    for kind, phrases in (("time", times), ("place", places)):
        for phrase in phrases:
            for first, last in _spans(text, phrase):
                for at in range(first, last):
                    marks[at].add(kind)
    pieces: list[Piece] = []
    start = 0
    for at in range(1, len(text) + 1):
        if at == len(text) or marks[at] != marks[start]:
            pieces.append(Piece(text=text[start:at], mark=_mark(marks[start])))
            start = at
    return tuple(pieces) if text else ()


def _mark(kinds: set[str]) -> Mark:
    if len(kinds) == 2:
        return "time and place"
    return "time" if "time" in kinds else "place" if "place" in kinds else ""


def _spans(text: str, phrase: str) -> list[tuple[int, int]]:
    """Where the phrase stands, as words; else where its parts do."""
    found = _found(text, phrase)
    if found or "," not in phrase:
        return found
    return [span for part in phrase.split(",") for span in _found(text, part)]


def _found(text: str, phrase: str) -> list[tuple[int, int]]:
    words = [re.escape(word) for word in phrase.split()]
    if not words:
        return []
    pattern = r"(?<!\w)" + r"\s+".join(words) + r"(?!\w)"
    return [match.span() for match in re.finditer(pattern, text, re.IGNORECASE)]
