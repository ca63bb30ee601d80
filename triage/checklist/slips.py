"""Tells a name that is a letter or two from a known one: rather a slip than another taxon."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from rapidfuzz.distance import DamerauLevenshtein

from triage.checklist.names import genera
from triage.checklist.taxa import Taxon

LEAST_LETTERS = 4  # of a word in which one letter may be a slip
TWO_SLIPS_FROM = 9  # letters: names of genera elsewhere differ by no less than two, by eye


class KnownNames:
    """The names that a list holds so far, and what a further one may be a slip of."""

    def __init__(self, taxa: Sequence[Taxon]) -> None:
        self._names: set[str] = set()
        self._genera = dict.fromkeys(genera())
        self._epithets: dict[str, dict[str, None]] = {}
        for taxon in taxa:
            self.add(taxon)

    def add(self, taxon: Taxon) -> None:
        """Take in the names of one taxon; those above the genus have lists of their own."""
        if taxon.rank in ("genus", "species", "subspecies"):
            for name in (taxon.scientific_name, *taxon.synonyms):
                genus, *rest = name.split()
                self._names.add(name)
                self._genera.setdefault(genus)
                if rest:
                    self._epithets.setdefault(genus, {}).setdefault(rest[0])

    def slip_in(self, taxon: Taxon) -> str:
        """The known name of which the taxon's is a slip; empty for a known name or another one."""
        if taxon.rank not in ("genus", "species", "subspecies"):
            return ""
        name = taxon.scientific_name
        genus, *rest = name.split()
        if name in self._names:
            return ""
        meant = "" if genus in self._genera else _near(genus, self._genera)
        if meant or not rest:
            return meant
        known = self._epithets.get(genus, {})
        epithet = "" if rest[0] in known else _near(rest[0], known)
        return f"{genus} {epithet}" if epithet else ""


_ENDING = re.compile(r"(?<=.{4})(?:ens|entum|us|a|um|is|e|os|on|ii|i|ae)$")


def _near(word: str, known: Iterable[str]) -> str:
    """The known word that differs by one letter, in long words by two; empty if there is none."""
    if len(word) < LEAST_LETTERS:
        return ""
    most = 1 + (len(word) >= TWO_SLIPS_FROM)
    stem = _ENDING.sub("", word)
    found = [  # the stem alone: the ending follows the genus (ICZN 31.2), Lestes barbarus
        (0, one) for one in known if one != word and word.islower() and _ENDING.sub("", one) == stem
    ]
    found += [
        (away, one)
        for one in known
        if (away := DamerauLevenshtein.distance(word, one, score_cutoff=most)) <= most
    ]
    return min(found)[1] if found else ""
