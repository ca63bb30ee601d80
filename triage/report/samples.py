"""Make samples by taxa from visits with lots and outings with sightings.

The sample is what may be resampled and permuted as a whole: one search for exuviae, or one
observer's day at one place. Photos of one outing are not independent of each other.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from triage.checklist import Checklist
from triage.exuviae import ExuviaeLot, Visit
from triage.matching import adults_at_sites
from triage.matching.candidates import name_of_lot, name_of_sighting
from triage.matching.outings import outing_of
from triage.report.material import Material


@dataclass(frozen=True, slots=True, kw_only=True)
class Samples:
    """Counts of ``taxa`` (columns) in ``units`` (rows); ``place`` and ``year`` go with the rows.

    ``left_out`` is how many individuals or sightings had only a name that holds a finer one of
    the list (Coenagrion beside Coenagrion puella): they cannot be a further taxon.
    """

    units: tuple[str, ...]
    place: tuple[str, ...]
    year: tuple[int, ...]
    taxa: tuple[str, ...]
    counts: NDArray[np.int64]
    left_out: int = 0

    def of(self, *, place: str | None = None, year: int | None = None) -> Samples:
        """The samples of one place, one year, or both, with the taxa found in them."""
        rows = [
            i
            for i in range(len(self.units))
            if (place is None or self.place[i] == place) and (year is None or self.year[i] == year)
        ]
        counts = self.counts[rows]
        found = [j for j in range(len(self.taxa)) if counts[:, j].any()]
        return Samples(
            units=tuple(self.units[i] for i in rows),
            place=tuple(self.place[i] for i in rows),
            year=tuple(self.year[i] for i in rows),
            taxa=tuple(self.taxa[j] for j in found),
            counts=counts[:, found],
        )


def finest_names(names: Iterable[str], checklist: Checklist) -> set[str]:
    """The names without those that hold a finer one of them."""
    every = set(names)
    above = {held for name in every for held in checklist.lineage(name).values() if held != name}
    return every - above


def exuviae_samples(material: Material) -> Samples:
    """One sample a visit, those that found nothing included; lots without a visit by place and day.

    Every taxon's individuals of a visit are added up.
    """
    content = material.content
    known = {visit.event_id: visit for visit in content.visits}
    units: dict[str, tuple[str, int]] = {
        visit.event_id: (visit.location_id, int(visit.last_day[:4])) for visit in content.visits
    }
    found: list[tuple[str, str, int]] = []
    for lot in content.lots:
        if not lot.last_day:
            continue
        unit = unit_of_lot(lot, known)
        units.setdefault(unit, (lot.location_id, int(lot.last_day[:4])))
        if lot.individual_count:
            name, _ = name_of_lot(material.checklist, lot)
            found.append((unit, name, lot.individual_count))
    return _samples(units, found, material.checklist)


def unit_of_lot(lot: ExuviaeLot, visits: Mapping[str, Visit]) -> str:
    """The visit of a lot, or its place and day."""
    return lot.event_id if lot.event_id in visits else f"{lot.location_id} {lot.last_day}"


def adult_samples(material: Material) -> Samples:
    """One sample an outing: one observer's day at one site, or in one cell of 0.01 degree."""
    units: dict[str, tuple[str, int]] = {}
    found: list[tuple[str, str, int]] = []
    at_site = sites_of_sightings(material)
    for sighting in material.content.sightings:
        outing = outing_of(sighting, at_site.get(sighting.identifier, ""))
        if outing is None:
            continue
        units.setdefault(
            outing, (at_site.get(sighting.identifier, ""), int(sighting.event_date[:4]))
        )
        name, _ = name_of_sighting(material.checklist, sighting)
        if name:
            found.append((outing, name, 1))
    return _samples(units, found, material.checklist)


def sites_of_sightings(material: Material) -> dict[str, str]:
    """The site at which each sighting was, by identifier."""
    content = material.content
    return {
        sighting.identifier: location_id
        for sighting, location_id in adults_at_sites(content.sightings, content.sites)
    }


def _samples(
    units: Mapping[str, tuple[str, int]],
    found: Sequence[tuple[str, str, int]],
    checklist: Checklist,
) -> Samples:
    order = sorted(units)
    taxa = sorted(finest_names((name for _, name, _ in found), checklist))
    row = {unit: i for i, unit in enumerate(order)}
    column = {name: j for j, name in enumerate(taxa)}
    counts = np.zeros((len(order), len(taxa)), dtype=np.int64)
    left_out = 0
    for unit, name, number in found:
        if name in column:
            counts[row[unit], column[name]] += number
        else:
            left_out += number
    return Samples(
        units=tuple(order),
        place=tuple(units[unit][0] for unit in order),
        year=tuple(units[unit][1] for unit in order),
        taxa=tuple(taxa),
        counts=counts,
        left_out=left_out,
    )
