"""Reads a scientific name with its genus cut short, ``S. danae``, that can mean one species only.

A checklist may be short, so a species is read from a cut genus only if it is one of Europe's, in
``epithets.csv`` beside this file: of these an initial and an epithet name one species. A cut
epithet is never read: what it may stand for is offered. Common practice, no source.
"""

from __future__ import annotations

import functools
from collections.abc import Sequence

from triage.checklist.names import european_epithets
from triage.checklist.taxa import BELOW_GENUS, Taxon
from triage.checklist.tree import Checklist


def written_out(words: Sequence[str], checklist: Checklist) -> Taxon | None:
    """The species that one or two words mean; None if they may mean another, or none.

    Read are a cut genus with the whole epithet, and a whole name without its space.

    Examples
    --------
    >>> listed = Checklist([Taxon(scientific_name="Lestes virens", rank="species")])
    >>> [one and one.scientific_name for one in (
    ...     written_out(["L.", "virens"], listed), written_out(["Lest.", "vir."], listed))]
    ['Lestes virens', None]
    """
    plain = [word.removesuffix(".").casefold() for word in (*words[:-1], words[-1].rstrip(",;:!"))]
    if not all(word.isalpha() for word in plain):
        return None
    if len(words) == 1:
        names = checklist.species_names()
        whole = {taxon for name, taxon in names.items() if name.replace(" ", "") == plain[0]}
        return whole.pop() if len(whole) == 1 else None
    if len(words) != 2:
        return None
    genus, epithet = plain
    return _meant(genus, epithet, checklist)


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


def _meant(genus: str, epithet: str, checklist: Checklist) -> Taxon | None:
    """The only species of this epithet whose genus begins so, if it is one of Europe's.

    There an initial and an epithet name one species; a species of elsewhere may have neighbours
    that this program does not know.
    """
    found = {
        taxon
        for name, taxon in checklist.species_names().items()
        if name.split()[1] == epithet and name.startswith(genus)
    }
    if len(found) != 1:
        return None
    taxon = found.pop()
    own = {name.casefold() for name in (taxon.scientific_name, *taxon.synonyms)}
    return taxon if own & _europe() else None


@functools.cache
def _europe() -> frozenset[str]:
    """Names of two words in small letters."""
    return frozenset(
        f"{genus} {epithet}".casefold()
        for genus, epithets in european_epithets().items()
        for epithet in epithets
    )
