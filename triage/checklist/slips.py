"""Tells names of a list that cannot all be right: slips of each other, one name for two taxa.

Which of two rows is wrong cannot be known from their order, so neither is taken.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence

from rapidfuzz.distance import DamerauLevenshtein

from triage.checklist.names import genera
from triage.checklist.taxa import Taxon
from triage.standards.groups import in_groups
from triage.standards.tables import RefusedRow

LEAST_LETTERS = 4  # of a word in which one letter may be a slip
OF_A_GENUS = ("genus", "species", "subspecies")
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
        if taxon.rank in OF_A_GENUS:
            for name in (taxon.scientific_name, *taxon.synonyms):
                genus, *rest = name.split()
                self._names.add(name)
                self._genera.setdefault(genus)
                if rest:
                    self._epithets.setdefault(genus, {}).setdefault(rest[0])

    def slip_in(self, taxon: Taxon) -> str:
        """The known name of which the taxon's is a slip; empty for a known name or another one."""
        if taxon.rank not in OF_A_GENUS:
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


def conflicting_taxa(
    found: Sequence[tuple[int, Taxon]], *, known: Sequence[Taxon], others: Sequence[Taxon]
) -> list[RefusedRow]:
    """Rows, by line number, that share a name, put a genus into two families, or are slips.

    ``known`` are the taxa that the survey holds, ``others`` those of them that the table leaves.
    """
    refused: dict[int, RefusedRow] = {}
    wrong = (*_sharing(found), *_in_two_families(found, others), *_slips(found, known))
    for line, column, reason in wrong:
        refused.setdefault(line, RefusedRow(line=line, column=column, reason=reason))
    return list(refused.values())


def _sharing(found: Sequence[tuple[int, Taxon]]) -> Iterator[tuple[int, str, str]]:
    bearers = in_groups(
        (name.casefold(), (line, taxon, name))
        for line, taxon in found
        for name in dict.fromkeys((taxon.scientific_name, *taxon.synonyms))
    )
    for same in filter(lambda same: len(same) > 1, bearers.values()):
        where = " and ".join(f"on line {line} for {one.scientific_name}" for line, one, _ in same)
        for line, taxon, name in same:
            column = "scientificName" if name == taxon.scientific_name else "synonyms"
            yield line, column, f"{name} stands {where}. Leave it in the row that is right."


def _in_two_families(
    found: Sequence[tuple[int, Taxon]], others: Sequence[Taxon]
) -> Iterator[tuple[int, str, str]]:
    placed = defaultdict[str, dict[str, str]](dict)
    rows = [("in the survey's checklist", taxon) for taxon in others]
    rows += [(f"on line {line}", taxon) for line, taxon in found]
    for where, taxon in rows:
        if taxon.rank in OF_A_GENUS and taxon.family:
            placed[taxon.scientific_name.split()[0]].setdefault(taxon.family, where)
    for line, taxon in found:
        genus = taxon.scientific_name.split()[0]
        families = placed.get(genus, {}) if taxon.rank in OF_A_GENUS else {}
        if len(families) > 1 and taxon.family:
            where = " and ".join(f"{family} {where}" for family, where in families.items())
            yield line, "family", f"{genus} stands under {where}. Correct the wrong one."


def _slips(
    found: Sequence[tuple[int, Taxon]], known: Sequence[Taxon]
) -> Iterator[tuple[int, str, str]]:
    spelt, mine = KnownNames(known), dict[str, int]()
    held = {taxon.scientific_name for taxon in known}
    for line, taxon in found:
        name, meant = taxon.scientific_name, spelt.slip_in(taxon)
        spelt.add(taxon)
        if re.search(r"\d{4}", taxon.authorship):
            continue  # a name of its own, however near another is
        if meant:
            for at, one, other in ((line, name, meant), (mine.get(meant, line), meant, name)):
                yield (
                    at,
                    "scientificName",
                    f"{one} looks like a slip of {other}. Correct one of the two; if it is a name"
                    " of its own, write its author and year in scientificNameAuthorship.",
                )
        elif name not in held:
            mine[name] = line
