"""Tells the author and year behind a scientific name from any other words.

Shapes follow the International Code of Zoological Nomenclature (4th edition, 1999), articles 22
and 51: author and year after a comma, both in parentheses where the genus was changed, several
authors joined, ``in`` for the author of the larger work.
"""

from __future__ import annotations

import re

# Authors of European Odonata, for names written without the year; from memory.
_KNOWN_NAMES = """
    l linné linne linnaeus fabricius charpentier selys sélys longchamps latreille leach linden
    vanderlinden müller mueller muller hansemann sulzer brullé brulle kirby rambur burmeister hagen
    brauer stephens fonscolombe illiger harris donovan curtis dale evans schneider eversmann ander
    drury say walsh calvert tillyard ris fraser lieftinck schmidt bartenev bartenef asahina martin
    mclachlan förster foerster karsch navás navas needham williamson garrison kennedy newman poda
    scopoli olivier fourcroy geoffroy newport morton kolbe krüger laidlaw pinhey dijkstra jödicke
    zetterstedt sowerby artobolevsky artobolewski belyshev belyschev schmid trybom sjöstedt
    steinmann cowley may buchholz gloger st quentin quentin
"""
_KNOWN = frozenset(_KNOWN_NAMES.split())
LATEST_UNKNOWN_AUTHOR = 2000
_PARTICLES = r"(?i:(?:de|van|von|der|den|du|la|le|di|da|vander|v\.?|d\.?)\s+)*"
_INITIALS = r"(?:[^\W\d_a-z]\.\s?-?\s?)*"
_YEAR = re.compile(r"(,?)\s*[\[(]?\s*(1[789]\d\d|20\d\d)\s*[\])]?\s*$", re.ASCII)
_JOINED = re.compile(r"\s*(?:,|&|\s(?:et|and|und|in|ex)\s)\s*(?:al\.?)?", re.IGNORECASE)
_ONE_AUTHOR = re.compile(
    rf"{_INITIALS}{_PARTICLES}((?:[^\W\d_]+[-'\u2019]?)+\.?(?:\s(?:[^\W\d_]+[-'\u2019]?)+)*)"
    rf"(?:,?\s{_INITIALS})?"
)


def is_authorship(text: str, *, any_author: bool = False) -> bool:
    """Whether the words are an author's, with or without the year.

    An author that is not known here needs a year after a comma or parentheses, so that a place
    or a second name is not taken for one; ``any_author`` takes every word with a capital.

    Examples
    --------
    >>> [is_authorship(text) for text in ("Leach, 1815", "(L.)", "Heron Mere", "q", "Zzz")]
    [True, True, False, False, False]
    """
    inner = text.strip().strip(",").strip()
    in_parentheses = inner.startswith("(") and inner.endswith(")")
    inner = re.sub(r"^\((.*)\)$", r"\1", inner).strip() if in_parentheses else inner
    inner = re.sub(r"^\(([^()]*)\)(,?\s*\d{4})$", r"\1\2", inner)
    found = _YEAR.search(inner)
    names = inner[: found.start()] if found else inner
    dated = bool(found) and bool(found.group(1) or in_parentheses) if found else False
    parts = [part.strip() for part in _JOINED.split(names.strip()) if part.strip()]
    if not parts or not names.strip()[:1].isalpha():
        return False
    # A year of today beside a word that is no known author is rather a note of place and year.
    dated = dated and found is not None and int(found.group(2)) < LATEST_UNKNOWN_AUTHOR
    return all(_is_author(part, dated=dated or any_author, written=names) for part in parts)


def _is_author(part: str, *, dated: bool, written: str) -> bool:
    shape = _ONE_AUTHOR.fullmatch(part)
    if shape is None:
        return False
    words = re.findall(r"[^\W\d_]+", shape.group(1))
    if len(words) == 1 and f"{words[0]}." in written and _is_cut(words[0]):
        return True
    if all(word.casefold() in _KNOWN for word in words):
        # One letter is Linnaeus only with its full stop: "Libellula l" is a name half typed.
        return words[0] != "l" and (len(words[0]) > 1 or "." in written)
    names = [word for word in words if not re.fullmatch(_PARTICLES, f"{word} ")]
    joined = len(words) == 1 or (len(names) == 2 < len(words))  # Palisot de Beauvois
    return dated and joined and all(len(name) > 1 and name[0].isupper() for name in names)


def _is_cut(word: str) -> bool:
    """Whether a known author is cut short with a full stop, as in Latr., Fabr. or Charp."""
    plain = word.casefold()
    return word[0].isupper() and len(word) > 3 and any(one.startswith(plain) for one in _KNOWN)
