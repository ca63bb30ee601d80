"""List the taxa that an animal of a name may be."""

from __future__ import annotations

from triage.checklist import BELOW_GENUS, Checklist, canonical_name
from triage.exuviae import ExuviaeLot
from triage.sightings import Sighting


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
        sure, its_rank = self.checklist.without_doubt(name, rank, qualifier)
        if its_rank in BELOW_GENUS:
            return (self.checklist.lineage(name).get("species", sure),)
        return self._within(its_rank, sure) or (sure,)

    def _within(self, rank: str, name: str) -> tuple[str, ...]:
        return tuple(one for one in self._species if self._lineage[one].get(rank) == name)


def name_of_lot(checklist: Checklist, lot: ExuviaeLot) -> tuple[str, str]:
    """Accepted name and rank of a lot; in doubt those of the taxon above."""
    return checklist.without_doubt(
        lot.scientific_name, lot.taxon_rank, lot.identification_qualifier
    )


def name_of_sighting(checklist: Checklist, sighting: Sighting) -> tuple[str, str]:
    """Accepted name and rank of a sighting, likewise; two empty texts if it has none to count.

    A name that waits for a second look counts as none until somebody has looked.
    """
    if not sighting.scientific_name or sighting.waits:
        return "", ""
    return checklist.without_doubt(
        sighting.scientific_name, sighting.taxon_rank, sighting.qualifier
    )
