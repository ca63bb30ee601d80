"""A small made-up survey for the tests of matching: a checklist, and makers of records."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from triage.checklist import Checklist, Taxon
from triage.exuviae import ExuviaeLot, Site, Visit
from triage.sightings import Sighting


def taxon(name: str, family: str, season: tuple[int, int] | None = None, **more: Any) -> Taxon:
    return Taxon(scientific_name=name, rank="species", family=family, season=season, **more)


CHECKLIST = Checklist(
    [
        taxon("Anax imperator", "Aeshnidae", (150, 260)),
        taxon("Anaciaeschna isoceles", "Aeshnidae", synonyms=("Aeshna isoceles",)),
        taxon("Aeshna mixta", "Aeshnidae", (200, 300)),
        taxon("Coenagrion puella", "Coenagrionidae", (120, 240)),
        taxon("Sympecma fusca", "Lestidae", (213, 160)),
        taxon("Anax ephippiger", "Aeshnidae"),
        taxon("Leucorrhinia pectoralis", "Libellulidae", (135, 200), sensitive="3"),
        taxon("Leucorrhinia caudalis", "Libellulidae", (135, 200), sensitive="1"),
    ]
)


def site(name: str, north: float = 0.0, **more: Any) -> Site:
    """A site so many degrees north of the middle of the survey."""
    made = Site(
        location_id=name,
        locality=f"{name} Pool",
        decimal_latitude=53.9 + north,
        decimal_longitude=21.7,
        coordinate_uncertainty_in_meters=30.0,
    )
    return replace(made, **more)


def visit(name: str, place: str, day: str, passes: int = 1) -> Visit:
    return Visit(event_id=name, location_id=place, first_day=day, last_day=day, passes=passes)


def lot(
    name: str, event: str, taxon_name: str, rank: str = "species", count: int = 5, **more: Any
) -> ExuviaeLot:
    made = ExuviaeLot(
        catalog_number=name,
        event_id=event,
        location_id="",
        first_day="",
        last_day="",
        scientific_name=taxon_name,
        taxon_rank=rank,
        individual_count=count,
    )
    return replace(made, **more)


def sighting(
    taxon_name: str = "Anax imperator", day: str = "2026-06-20", north: float = 0.0, **more: Any
) -> Sighting:
    made = Sighting(
        identifier="g1",
        observer="P1",
        event_date=day,
        decimal_latitude=53.9 + north,
        decimal_longitude=21.7,
        coordinate_uncertainty_in_meters=20.0,
        scientific_name=taxon_name,
        taxon_rank="species" if taxon_name else "",
    )
    return replace(made, **more)
