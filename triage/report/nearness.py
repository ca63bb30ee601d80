"""Test whether adults keep near exuviae of their own taxon."""

from __future__ import annotations

from dataclasses import dataclass

from triage.estimates.association import PermutationTest, nearness_test
from triage.matching.candidates import name_of_lot, name_of_sighting
from triage.matching.outings import place_of
from triage.report.lists import RANKS, ListRank, name_at
from triage.report.material import Material
from triage.report.samples import sites_of_sightings


@dataclass(frozen=True, slots=True, kw_only=True)
class Nearness:
    """The test at one rank: how many adults and sites with exuviae of their taxon took part."""

    rank: ListRank
    adults: int
    sites: int
    test: PermutationTest


def nearness(material: Material) -> list[Nearness]:
    """Permute whole waters among the places where people went, at species and genus."""
    at_site = sites_of_sightings(material)
    positions = {site.location_id: site for site in material.content.sites}
    rows = []
    for rank in RANKS:
        adults = []
        for sighting in material.content.sightings:
            name = name_at(
                rank, *name_of_sighting(material.checklist, sighting), material.checklist
            )
            water = place_of(sighting, at_site.get(sighting.identifier, ""))
            latitude, longitude = sighting.decimal_latitude, sighting.decimal_longitude
            if name and water and latitude is not None and longitude is not None:
                adults.append((water, latitude, longitude, name))
        found = set()
        for lot in material.content.lots:
            site = positions.get(lot.location_id)
            name = name_at(rank, *name_of_lot(material.checklist, lot), material.checklist)
            if site is not None and name and lot.individual_count:
                found.add((site.decimal_latitude, site.decimal_longitude, name))
        taxa = {name for _, _, name in found}
        rows.append(
            Nearness(
                rank=rank,
                adults=sum(adult[3] in taxa for adult in adults),
                sites=len({place[:2] for place in found}),
                test=nearness_test(
                    adults,
                    sorted(found),
                    seed=material.settings.seed,
                    permutations=material.settings.permutations,
                ),
            )
        )
    return rows
