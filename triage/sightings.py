"""Photos with time, place and observer in, proposed sightings (one animal each) out."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Sighting:
    """One animal, or one pair, at one place and time, by one observer (Darwin Core Occurrence).

    What matching, exports and reports know of it. ``event_date`` is ISO 8601 as precise as the
    evidence; ``observer`` is the person's code. Coordinates are the held, unreleased ones.
    ``photos`` are digests, the best of each view first. Names are empty until determined.
    """

    identifier: str
    observer: str
    event_date: str
    decimal_latitude: float | None
    decimal_longitude: float | None
    coordinate_uncertainty_in_meters: float | None
    location_id: str = ""
    locality: str = ""
    photos: tuple[str, ...] = ()
    best_dorsal: str = ""
    best_lateral: str = ""
    suborder: str = ""
    state: str = "queued"
    scientific_name: str = ""
    taxon_rank: str = ""
    qualifier: str = ""
    sex: str = ""
    behavior: str = ""
    life_stage: str = "adult"
    georeference_protocol: str = ""
    place_source: str = ""
    time_source: str = ""
    frozen: bool = False
