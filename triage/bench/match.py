"""Time the matching of sightings with sites, and how it grows.

The landscape is made up: sites at random over a square of ``side_kilometres``, every tenth one a
polygon, sightings around them; thirty taxa in two suborders, eight lots at each site.
"""

from __future__ import annotations

import time
from dataclasses import dataclass

import numpy as np

from triage.checklist import Checklist, Taxon
from triage.exuviae import ExuviaeLot, Site, Visit
from triage.matching import match_sightings
from triage.sightings import Sighting


@dataclass(frozen=True, slots=True, kw_only=True)
class MatchBench:
    """One run: how much went in, how many rows came out, and the seconds of processor time."""

    sightings: int
    sites: int
    rows: int
    seconds: float
    sightings_per_second: float


def bench(
    n_sightings: int = 200_000,
    n_sites: int = 2_000,
    *,
    side_kilometres: float = 150.0,
    seed: int = 1,
) -> MatchBench:
    """Match made-up sightings with made-up sites and measure the processor time it takes."""
    random = np.random.default_rng(seed)
    taxa = _taxa()
    sites = _sites(random, n_sites, side_kilometres)
    visits, lots = _searches(random, sites, taxa)
    sightings = _sightings(random, n_sightings, sites, taxa)
    begin = time.process_time()
    rows = sum(1 for _ in match_sightings(sightings, sites, visits, lots, Checklist(taxa)))
    seconds = time.process_time() - begin
    return MatchBench(
        sightings=n_sightings,
        sites=n_sites,
        rows=rows,
        seconds=round(seconds, 2),
        sightings_per_second=round(n_sightings / max(seconds, 1e-9)),
    )


def _taxa() -> list[Taxon]:
    return [
        Taxon(
            scientific_name=f"{genus} {epithet}", rank="species", family=family, suborder=suborder
        )
        for family, suborder, genus in (
            ("Aeshnidae", "Anisoptera", "Aeshna"),
            ("Libellulidae", "Anisoptera", "Sympetrum"),
            ("Coenagrionidae", "Zygoptera", "Coenagrion"),
        )
        for epithet in (
            "una",
            "duae",
            "tres",
            "quattuor",
            "quinque",
            "sex",
            "septem",
            "octo",
            "novem",
            "decem",
        )
    ]


def _sites(random: np.random.Generator, count: int, side: float) -> list[Site]:
    degrees = side / 111.2
    latitude = 53.9 + random.uniform(-degrees / 2, degrees / 2, count)
    longitude = 21.7 + random.uniform(-degrees / 2, degrees / 2, count) / np.cos(np.radians(53.9))
    return [
        Site(
            location_id=f"S{index:05d}",
            locality=f"Pond {index}",
            decimal_latitude=float(north),
            decimal_longitude=float(east),
            coordinate_uncertainty_in_meters=30.0,
            footprint_wkt=_square(float(north), float(east)) if index % 10 == 0 else "",
        )
        for index, (north, east) in enumerate(zip(latitude, longitude, strict=True))
    ]


def _square(north: float, east: float) -> str:
    corners = ((0, 0), (0.004, 0), (0.004, 0.002), (0, 0.002), (0, 0))
    return f"POLYGON(({', '.join(f'{east + x} {north + y}' for x, y in corners)}))"


def _searches(
    random: np.random.Generator, sites: list[Site], taxa: list[Taxon]
) -> tuple[list[Visit], list[ExuviaeLot]]:
    visits, lots = [], []
    for site in sites:
        for number in range(4):
            month, year = 5 + number, 2025 + int(random.integers(2))
            visit = Visit(
                event_id=f"{site.location_id}-{number}",
                location_id=site.location_id,
                first_day=f"{year}-{month:02d}-10",
                last_day=f"{year}-{month:02d}-10",
            )
            visits.append(visit)
            for which in range(2):
                taxon = taxa[int(random.integers(len(taxa)))]
                lots.append(
                    ExuviaeLot(
                        catalog_number=f"{visit.event_id}-{which}",
                        event_id=visit.event_id,
                        location_id=site.location_id,
                        first_day=visit.first_day,
                        last_day=visit.last_day,
                        scientific_name=taxon.scientific_name,
                        taxon_rank=taxon.rank,
                        individual_count=int(random.integers(1, 40)),
                    )
                )
    return visits, lots


def _sightings(
    random: np.random.Generator, count: int, sites: list[Site], taxa: list[Taxon]
) -> list[Sighting]:
    home = random.integers(len(sites), size=count)
    away = random.normal(0.0, 0.01, size=(count, 2))
    which = random.integers(len(taxa), size=count)
    determined = random.random(count) < 0.7
    day = random.integers(0, 120, size=count)
    first = np.datetime64("2026-05-15")
    return [
        Sighting(
            identifier=f"G{index:07d}",
            observer="P1",
            event_date=str(first + int(day[index])),
            decimal_latitude=sites[home[index]].decimal_latitude + float(away[index, 0]),
            decimal_longitude=sites[home[index]].decimal_longitude + float(away[index, 1]),
            coordinate_uncertainty_in_meters=30.0,
            suborder=taxa[which[index]].suborder.lower(),
            scientific_name=taxa[which[index]].scientific_name if determined[index] else "",
            taxon_rank="species" if determined[index] else "",
        )
        for index in range(count)
    ]
