"""Reads a sex as people write it in a cell, or asks what an abbreviation means.

Darwin Core ``sex`` takes female, male and hermaphrodite; signs as in Linnaeus (1753).
"""

from __future__ import annotations

import re

from rapidfuzz import fuzz, process

from triage.standards.tables.cells import CellError, text
from triage.standards.tables.reading import TableRow

_MALES = (
    "male males männchen maennchen männlich maennlich samiec samce samców mâle mâles macho maschio"
    " mannetje hane han samec"
)
_FEMALES = (
    "female females weibchen weiblich samica samice samic femelle femelles hembra femmina"
    " vrouwtje hona hun"
)
MALE_WORDS, FEMALE_WORDS = frozenset(_MALES.split()), frozenset(_FEMALES.split())
_UNKNOWN = {"", "unknown", "undetermined", "indet", "indet.", "unbekannt", "nieznana", "?", "-"}
_BOTH = {"both", "mixed", "beide", "obie", "pair", "tandem", "paar", "para"}
# One letter that different languages read differently, or that only one of them uses.
_ASKED = {
    "w": "weiblich (female)",
    "s": "samiec (male) or samica (female)",
    "sc": "samiec (male)",
    "sa": "samica (female)",
    "sam": "samiec (male) or samica (female)",
    "h": "hembra (female)",
    "v": "vrouwtje (female)",
    "wbch": "Weibchen (female)",
    "mch": "Männchen (male)",
    "weibl": "weiblich (female)",
    "männl": "männlich (male)",
    "fem": "female",
    "mas": "male",
    "d": "divers",
}
_NEAR = 60.0  # of 100, rapidfuzz ratio: only what is offered, never what is taken


def sex(row: TableRow) -> str:
    """The cell ``sex`` as ``sex_of`` reads it; raises what that raises."""
    return sex_of(text(row, "sex", longest=100))


def sex_of(written: str) -> str:
    """The words as ``male``, ``female``, ``male and female``, ``hermaphrodite`` or empty.

    Raises
    ------
    CellError
        The words are none of these; an abbreviation is asked about, never guessed.
    """
    plain = re.sub(r"[\ufe0f()]", "", written).strip().casefold()
    if plain in _UNKNOWN:
        return ""
    if plain in _BOTH:
        return "male and female"
    if plain in ("hermaphrodite", "gynandromorph"):
        return "hermaphrodite"
    if "?" in plain:
        raise CellError(
            "sex", f"'{written}' is in doubt. Leave the cell empty, or write what is sure."
        )
    kinds = {_one(word) for word in re.findall(r"[♂♀]|[^\W_]+\.?", _without_joiners(plain))}
    if kinds and "" not in kinds:
        return " and ".join(sorted(kinds, reverse=True))
    raise CellError("sex", _question(written, plain))


def _without_joiners(plain: str) -> str:
    return re.sub(r"[/+&,|]|\b(?:and|und|i|et)\b", " ", plain)


def _one(word: str) -> str:
    if word in ("♂", "m", "m.") or word in MALE_WORDS:
        return "male"
    return "female" if word in ("♀", "f", "f.") or word in FEMALE_WORDS else ""


def _question(written: str, plain: str) -> str:
    meaning = _ASKED.get(plain.strip(". "))
    if meaning:
        return f"'{written}' may mean {meaning}. Write female or male."
    near = process.extractOne(plain, ["female", "male"], scorer=fuzz.ratio, score_cutoff=_NEAR)
    hint = f"Did you mean {near[0]}? " if near else ""
    return f"'{written}' is not a sex. {hint}Write female or male, or leave the cell empty."
