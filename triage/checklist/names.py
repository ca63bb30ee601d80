"""Divides a listed scientific name into name and author, and tells its rank and suborder.

Shapes of names follow the International Code of Zoological Nomenclature (4th edition, 1999):
articles 4 and 5 (one, two or three words), 6 (subgenus in parentheses), 29.2 (families end in
-idae, subfamilies in -inae), 51 (the author is no part of the name).
"""

from __future__ import annotations

import csv
import functools
import re
import unicodedata
from importlib import resources

from rapidfuzz import fuzz, process

from triage.checklist.authors import is_authorship

ORDER = "Odonata"
MISSPELT_SIMILARITY = 85.0  # of 100, rapidfuzz ratio; a listed family is never a slip
SUBORDERS = ("Anisoptera", "Zygoptera", "Anisozygoptera")
_PARTICLES = {"de", "van", "von", "der", "den", "du", "la", "le", "di", "et", "ex", "in"}
_RANK_MARKS = ("ssp", "ssp.", "subsp", "subsp.")
_ABOVE_GENERA = re.compile(r"[A-Z]\w*(?:idae|inae|oidea|optera)")
_WORD = r"[^\W\d_]{2,}(-[^\W\d_]+)?"


def canonical_name(name: str) -> str:
    """The one, two or three words of a listed name, without author, year and subgenus.

    Text with any other word, with a mark of doubt or an open ending gives an empty string: a list
    of names holds names alone. Names in doubt are read by ``read_name``.

    Examples
    --------
    >>> canonical_name("Anax imperator Leach, 1815")
    'Anax imperator'
    >>> canonical_name("AESHNA MIXTA")
    'Aeshna mixta'
    >>> canonical_name("Sympetrum (Sympetrum) striolatum (Charpentier, 1840)")
    'Sympetrum striolatum'
    >>> canonical_name("Aeshna cf. mixta"), canonical_name("Aeshna sp.")
    ('', '')
    """
    return divided_name(name)[0]


def divided_name(name: str) -> tuple[str, str]:
    """A listed name and its authorship as written; two empty texts for what is no such name.

    Examples
    --------
    >>> divided_name("Anax imperator Leach, 1815")
    ('Anax imperator', 'Leach, 1815')
    """
    written = unicodedata.normalize("NFC", name).replace("\xa0", " ").split()
    if not written or len(written) > 40:
        return "", ""
    words = [word.lower() for word in written] if name.upper() == name else written
    # Lower case first: a change of case makes two characters of some letters, then not of a name.
    first = unicodedata.normalize("NFC", words[0].lower())
    if not re.fullmatch(_WORD, first):
        return "", ""
    initial = first[0].upper()
    kept = [(initial if len(initial) == 1 else first[0]) + first[1:]]
    taken = 1
    for word in words[1:]:
        plain = word.strip(",;")
        if _is_epithet(plain) and len(kept) < 3 and not _is_end(kept, written[taken:]):
            kept.append(plain)
        elif not (_is_subgenus(kept, word, name) or (word in _RANK_MARKS and len(kept) == 2)):
            break
        taken += 1
    authorship = " ".join(written[taken:])
    if authorship.strip(".,;") and not is_authorship(authorship, any_author=True):
        return "", ""
    return " ".join(kept), authorship


def _is_epithet(word: str) -> bool:
    is_word = re.fullmatch(_WORD, word) is not None
    return is_word and word == word.lower() and word not in _PARTICLES


def _is_subgenus(kept: list[str], word: str, name: str) -> bool:
    """A subgenus has a capital as a genus has: small letters in parentheses are another thing."""
    named = len(kept) == 1 and re.fullmatch(r"\([^\W\d_]+\)", word) is not None
    return named and (word[1].isupper() or name.upper() == name)


def _is_end(kept: list[str], rest: list[str]) -> bool:
    """Whether the rest is an author in capitals as the name is, or in small letters."""
    text = " ".join(rest)
    return len(kept) == 2 and is_authorship(text, any_author=bool(re.search(r"\d{4}", text)))


def rank_of_name(name: str) -> str:
    """The rank that the shape of a canonical name tells, genus for any other single word."""
    words = name.split()
    if len(words) >= 2:
        return "species" if len(words) == 2 else "subspecies"
    if name == ORDER:
        return "order"
    if name in SUBORDERS:
        return "suborder"
    for ending, rank in (("oidea", "superfamily"), ("idae", "family"), ("inae", "subfamily")):
        if name.endswith(ending):
            return rank
    return "genus"


def families() -> dict[str, str]:
    """Suborder by family name, from the dated list ``families.csv`` beside this file."""
    return _listed("families.csv", "family", "suborder")


def genera() -> dict[str, tuple[str, ...]]:
    """The families of a genus on the dated list ``genera.csv``: two where books differ.

    Examples
    --------
    >>> genera()["Lestes"], genera()["Macromia"]
    (('Lestidae',), ('Macromiidae', 'Corduliidae'))
    """
    listed = _listed("genera.csv", "genus", "family")
    return {genus: tuple(family.split("|")) for genus, family in listed.items()}


def european_epithets() -> dict[str, tuple[str, ...]]:
    """The species of Europe by genus, on the dated list ``epithets.csv``, older names among them.

    Examples
    --------
    >>> european_epithets()["Sympecma"][:3]
    ('annulata', 'braueri', 'fusca')
    """
    listed = _listed("epithets.csv", "genus", "epithets")
    return {genus: tuple(epithets.split()) for genus, epithets in listed.items()}


@functools.cache
def _listed(file: str, name: str, value: str) -> dict[str, str]:
    content = resources.files("triage.checklist").joinpath(file).read_text("utf-8")
    rows = csv.DictReader(line for line in content.splitlines() if not line.startswith("#"))
    return {row[name]: row[value] for row in rows}


def suborder_of_family(family: str) -> str:
    """The suborder of an odonate family, empty for a family not on the list.

    Examples
    --------
    >>> suborder_of_family("Lestidae"), suborder_of_family("Felidae")
    ('Zygoptera', '')
    """
    return families().get(family.strip().capitalize(), "")


def misspelt_family(family: str) -> str:
    """The family of the list that this name is a slip of; empty for a listed or another name.

    Examples
    --------
    >>> misspelt_family("Libelulidae"), misspelt_family("Libellulidae")
    ('Libellulidae', '')
    """
    if family in families():
        return ""
    near = process.extractOne(
        family, list(families()), scorer=fuzz.ratio, score_cutoff=MISSPELT_SIMILARITY
    )
    return near[0] if near else ""


def is_italic(name: str) -> bool:
    """Whether a name is set in italics: those of genera and below are, those above are not.

    >>> is_italic("Aeshna cf. mixta"), is_italic("Coenagrionidae indet."), is_italic("Zygoptera")
    (True, False, False)
    """
    return not any(word == ORDER or _ABOVE_GENERA.fullmatch(word) for word in name.split())
