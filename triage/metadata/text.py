"""What a message says in, claims of time and place out, with the words that made them."""

from __future__ import annotations

from dataclasses import dataclass

from triage.metadata.capture_time import TimeClaim
from triage.metadata.position import PlaceClaim


@dataclass(frozen=True, slots=True, kw_only=True)
class NamedPlace:
    """A site as the reader of texts needs it: its names and its point with uncertainty."""

    location_id: str
    locality: str
    aliases: tuple[str, ...]
    decimal_latitude: float
    decimal_longitude: float
    coordinate_uncertainty_in_meters: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TextEvidence:
    """What one author's text claims; ``questions`` are what could not be settled from it."""

    times: tuple[TimeClaim, ...] = ()
    places: tuple[PlaceClaim, ...] = ()
    questions: tuple[str, ...] = ()
