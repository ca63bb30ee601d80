"""Reads a short scientific name, ``S. danae`` or ``Lib. quad.``, that can mean one species only.

A checklist may be short, so the species of Europe in ``epithets.csv`` beside this file count, too:
what may be another of them is not read, nor is a species that they do not hold. The shapes are
common practice, no source.
"""

from __future__ import annotations

import functools
from collections.abc import Sequence

from triage.checklist.names import european_epithets
from triage.checklist.taxa import BELOW_GENUS, Taxon
from triage.checklist.tree import Checklist

LEAST_OF_BOTH = 3  # letters of genus and of epithet when both are cut: Sym san
LEAST_BEHIND_INITIAL = 4  # letters of an epithet cut behind an initial: S. striol.


def written_out(words: Sequence[str], checklist: Checklist) -> Taxon | None:
    """The species that one or two shortened words mean; None if they may mean another, or none.

    Read are an abbreviated genus with the whole epithet, both cut, a code of three letters of
    each, and a whole name without its space. A cut epithet behind a whole genus needs its stop.

    Examples
    --------
    >>> listed = Checklist([Taxon(scientific_name="Lestes virens", rank="species")])
    >>> [one and one.scientific_name for one in (
    ...     written_out(["L.", "virens"], listed), written_out(["Lest.", "vir."], listed))]
    ['Lestes virens', None]
    """
    names = checklist.species_names()
    plain = [word.removesuffix(".").casefold() for word in (*words[:-1], words[-1].rstrip(",;:!"))]
    if not all(word.isalpha() for word in plain):
        return None
    if len(words) == 1:
        whole = {taxon for name, taxon in names.items() if name.replace(" ", "") == plain[0]}
        if len(whole) == 1:
            return whole.pop()
        code = plain[0]
        return _meant(code[:3], code[3:], checklist) if len(code) == 2 * LEAST_OF_BOTH else None
    if len(words) != 2:
        return None
    genus, epithet = plain
    if any(name.split()[1] == epithet for name in names):
        return _meant(genus, epithet, checklist, whole=True)
    stopped = words[1].rstrip(",;:!").endswith(".")
    if checklist.named(genus) and not stopped:
        return None  # "Aeshna mixt" is a name half typed
    if len(genus) >= LEAST_OF_BOTH <= len(epithet):
        return _meant(genus, epithet, checklist)
    long = len(epithet) >= LEAST_BEHIND_INITIAL
    return _meant(genus, epithet, checklist) if stopped and long else None


def candidates(words: Sequence[str], checklist: Checklist) -> list[str]:
    """Species whose genus begins with the first word and whose epithet with the second."""
    if len(words) < 2:
        return []
    first, second = (word.strip(".,;:!").casefold() for word in words[:2])
    named = [taxon.scientific_name for taxon in checklist.taxa if taxon.rank in BELOW_GENUS]
    return [
        name
        for name in named
        if name.casefold().startswith(first) and name.casefold().split()[1].startswith(second)
    ]


def _meant(genus: str, epithet: str, checklist: Checklist, *, whole: bool = False) -> Taxon | None:
    """The only species whose two words begin so, here and in Europe."""

    def begins(name: str, letters: str = epithet) -> bool:
        first, second = name.split()
        fits = second == epithet if whole else second.startswith(letters)
        return first.startswith(genus) and fits

    names = checklist.species_names()
    taxa = {taxon for name, taxon in names.items() if begins(name)}
    if len(taxa) != 1:
        return None
    taxon = taxa.pop()
    its_own = {name.casefold() for name in (taxon.scientific_name, *taxon.synonyms)}
    epithets = {name.split()[1] for name in its_own if " " in name}
    # Where the third letter alone tells it from a species off the checklist, it may be a slip.
    told_by = epithet[:2] if len(epithet) == LEAST_OF_BOTH else epithet
    other = any(
        begins(name, told_by) and name.split()[1] not in epithets
        for name in _europe() - names.keys()
    )
    return None if other or not its_own & _europe() else taxon


@functools.cache
def _europe() -> frozenset[str]:
    """Names of two words in small letters."""
    return frozenset(
        f"{genus} {epithet}".casefold()
        for genus, epithets in european_epithets().items()
        for epithet in epithets
    )
