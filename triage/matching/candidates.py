"""A name and its rank in, the taxa that an animal of that name may be out."""

from __future__ import annotations

from triage.checklist import Checklist, Taxon, canonical_name

BELOW_GENUS = ("species", "subspecies")


class Candidates:
    """The species of a checklist, ready to be asked which of them a coarser name may be."""

    def __init__(self, checklist: Checklist) -> None:
        self.checklist = checklist
        self._species = sorted(
            {taxon.scientific_name for taxon in checklist.taxa if taxon.rank == "species"}
        )
        self._lineage = {name: checklist.lineage(name) for name in self._species}

    def of(self, name: str, rank: str, qualifier: str = "", suborder: str = "") -> tuple[str, ...]:
        """The species that a name may be: itself, or those of its genus, family or suborder.

        A species in doubt (cf., aff.) may be any of its genus. Without a name those of the
        suborder, or all. A name of which the checklist has no species stands for itself; nothing
        at all where there is neither name nor checklist.
        """
        taxon = self.checklist.resolve(name) if name else None
        if taxon is None:
            if name:
                return (canonical_name(name),)
            return self._within("suborder", suborder.strip().capitalize()) or tuple(self._species)
        own, lineage = accepted(self.checklist, name, rank, qualifier), self.checklist.lineage(name)
        if own[1] in BELOW_GENUS:
            return (lineage.get("species", own[0]),)
        return self._within(own[1], own[0]) or (own[0],)

    def _within(self, rank: str, name: str) -> tuple[str, ...]:
        return tuple(one for one in self._species if self._lineage[one].get(rank) == name)


def accepted(checklist: Checklist, name: str, rank: str, qualifier: str = "") -> tuple[str, str]:
    """The checklist's name and rank; a species named in doubt (cf., aff.) counts for its genus."""
    taxon: Taxon | None = checklist.resolve(name)
    if taxon is not None:
        name, rank = taxon.scientific_name, taxon.rank
    if qualifier and rank in BELOW_GENUS:
        return name.split()[0], "genus"
    return name, rank
