"""Exif GPS and named places in, claims of where a photo was taken out, doubts included."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

PlaceSource = Literal[
    "coordinator", "sender's answer", "camera gps", "message coordinates", "message site name"
]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceClaim:
    """One statement of where, with its source.

    Latitude and longitude in decimal degrees, EPSG:4326; the uncertainty is the radius in metres
    of the smallest circle that holds the whole place (Darwin Core), never zero. ``location_id``
    names a site of the survey where the claim is one. Coordinates are None only for a name that
    matches several sites (the doubt says which).
    """

    source: PlaceSource
    decimal_latitude: float | None
    decimal_longitude: float | None
    coordinate_uncertainty_in_meters: float | None
    location_id: str = ""
    locality: str = ""
    verbatim: str = ""
    georeference_protocol: str = ""
    doubts: tuple[str, ...] = ()
    note: str = ""
