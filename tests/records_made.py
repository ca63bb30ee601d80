"""Records for tests, each whole with as little said as possible; what a test is about, it says."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from triage.checklist import Checklist
from triage.checklist.typed import fits, plain
from triage.determinations import Determination
from triage.exuviae import ExuviaeLot, Site
from triage.sightings import SightingRow
from triage.store import sightings
from triage.store.connection import Survey


def site(name: str, latitude: float = 53.9, longitude: float = 21.7, **more: Any) -> Site:
    """A site known to 50 m, called like its identifier."""
    made = Site(
        location_id=name,
        locality=name,
        decimal_latitude=latitude,
        decimal_longitude=longitude,
        coordinate_uncertainty_in_meters=50.0,
    )
    return replace(made, **more)


def lot(number: str, name: str, count: int = 3, day: str = "2026-06-12", **more: Any) -> ExuviaeLot:
    """A lot of one day at the site HM, of no visit."""
    made = ExuviaeLot(
        catalog_number=number,
        event_id="",
        location_id="HM",
        first_day=day,
        last_day=day,
        scientific_name=name,
        taxon_rank="species" if " " in name else "genus",
        individual_count=count,
    )
    return replace(made, **more)


def determination(identifier: str, name: str = "Aeshna mixta", **more: Any) -> Determination:
    """What P-1 said of the sighting s on 1 July 2026: a name, or that it cannot be told."""
    made = Determination(
        identifier=identifier,
        sighting="s",
        outcome="determined" if name else "cannot tell",
        scientific_name=name,
        identified_by="P-1",
        date_identified="2026-07-01T10:00:00Z",
    )
    return replace(made, **more)


def begun_by(checklist: Checklist, typed: str) -> set[str]:
    """The names that typed letters begin, each of its labels looked at by itself."""
    wanted = plain(typed).split()
    return {
        taxon.scientific_name
        for taxon in checklist.names()
        for label in (taxon.scientific_name, *taxon.synonyms, *taxon.vernacular_name.split("|"))
        if fits(wanted, plain(label).split())
    }


def photo(survey: Survey, number: int) -> str:
    """A photo of this number that a survey keeps, not examined; its digest."""
    digest = f"{number:064x}"
    values = {"sha256": digest, "format": "image/jpeg", "width": 4, "height": 3, "byte_size": 9}
    survey.insert("photos", values)
    return digest


def message(survey: Survey, number: int, *photos: str, **more: Any) -> int:
    """A message of this number that brought these photos; its row."""
    values: dict[str, Any] = {
        **dict.fromkeys(("message_header", "raw_name", "in_reply_to", "subject", "origin"), ""),
        **dict.fromkeys(("reference_headers", "links", "problems"), "[]"),
        "identifier": f"{number:032x}",
        "raw_sha256": f"{number:064x}",
        "automatic": "",
        "taken_in_at": "2026-07-02T08:00:00Z",
    }
    row = survey.insert("messages", values | more)
    for place, digest in enumerate(photos):
        part = {"message_id": row, "path": str(place), "envelope": 0, "sha256": digest}
        part |= dict.fromkeys(("file_name", "declared_type", "media_type"), "")
        survey.insert("parts", part | {"outcome": "taken in", "reason": "x", "byte_size": 9})
    return row


def sighting(survey: Survey, name: str, *photos: str, **more: Any) -> str:
    """A sighting of this name that a survey keeps, with these photos; its name."""
    row = SightingRow(
        identifier=name, observer=None, members=tuple((one, 1) for one in photos), **more
    )
    sightings.save(survey, row)
    return name
