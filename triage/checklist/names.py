"""A scientific name as people write it in, its canonical form, rank and family's suborder out.

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

ORDER = "Odonata"
SUBORDERS = ("Anisoptera", "Zygoptera", "Anisozygoptera")
# Marks of doubt or of a name left open; what stands after them in the name is kept out or kept in
# as the qualifier's own business (Darwin Core identificationQualifier).
_OPEN_MARKS = {"sp", "spp", "sp.", "spp.", "species", "indet", "indet.", "agg", "agg."}
_DOUBT_MARKS = {"cf", "cf.", "aff", "aff.", "nr", "nr.", "?", "ssp", "ssp.", "subsp", "subsp."}
_AUTHOR_PARTICLES = {"de", "van", "von", "der", "den", "du", "la", "le", "di", "et", "ex", "in"}


def canonical_name(name: str) -> str:
    """The words of the name alone, without author, year, subgenus, doubt and open endings.

    A name left open (``Aeshna sp.``, ``Sympetrum striolatum/vulgatum``) becomes its genus. Text
    that is no name gives an empty string.

    Examples
    --------
    >>> canonical_name("Anax imperator Leach, 1815")
    'Anax imperator'
    >>> canonical_name("AESHNA MIXTA")
    'Aeshna mixta'
    >>> canonical_name("Aeshna sp.")
    'Aeshna'
    >>> canonical_name("Sympetrum (Sympetrum) cf. striolatum (Charpentier, 1840)")
    'Sympetrum striolatum'
    """
    words = unicodedata.normalize("NFC", name).replace("\xa0", " ").split()
    if not words or len(words) > 40:
        return ""
    if name.upper() == name:
        words = [word.lower() for word in words]
    # Lower case first: a change of case makes two characters of some letters, then not of a name.
    first = unicodedata.normalize("NFC", words[0].strip("?,;\"'").lower())
    if not re.fullmatch(r"[^\W\d_]{2,}(-[^\W\d_]+)?", first):
        return ""
    initial = first[0].upper()
    kept = [(initial if len(initial) == 1 else first[0]) + first[1:]]
    for word in words[1:]:
        plain = word.strip("?,;\"'")
        if plain.casefold() in _DOUBT_MARKS or not plain:
            continue
        if len(kept) == 1 and re.fullmatch(r"\([^\W\d_]+\)", plain):
            continue
        if "/" in plain or plain.casefold() in _OPEN_MARKS or len(kept) == 3:
            break
        if not re.fullmatch(r"[^\W\d_]{2,}(-[^\W\d_]+)?", plain) or plain != plain.lower():
            break
        if plain in _AUTHOR_PARTICLES:
            break
        kept.append(plain)
    return " ".join(kept)


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


@functools.cache
def families() -> dict[str, str]:
    """Suborder by family name, from the dated list ``families.csv`` beside this file."""
    content = resources.files("triage.checklist").joinpath("families.csv").read_text("utf-8")
    rows = csv.DictReader(line for line in content.splitlines() if not line.startswith("#"))
    return {row["family"]: row["suborder"] for row in rows}


def suborder_of_family(family: str) -> str:
    """The suborder of an odonate family, empty for a family not on the list.

    Examples
    --------
    >>> suborder_of_family("Lestidae"), suborder_of_family("Felidae")
    ('Zygoptera', '')
    """
    return families().get(family.strip().capitalize(), "")
