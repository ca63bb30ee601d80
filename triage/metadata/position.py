"""Make claims of where a photo was taken, doubts included, from GPS and named places.

Uncertainty by the point-radius method (triage.metadata.point_radius); each rule with its source in
docs/metadata.md. A place with a doubt keeps it until a person settles it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from triage.analysis.geodesy import Area, is_inside, metres_between
from triage.metadata.exif import ExifRecord
from triage.metadata.point_radius import (
    UNKNOWN_DATUM_METRES,
    coordinate_precision_uncertainty,
    digits_uncertainty,
    gps_uncertainty,
)

PlaceSource = Literal[
    "coordinator", "sender's answer", "camera gps", "message coordinates", "message site name"
]

PRECEDENCE: tuple[PlaceSource, ...] = (
    "coordinator",
    "sender's answer",
    "camera gps",
    "message coordinates",
    "message site name",
)

SAID_BY_PEOPLE = ("coordinator", "sender's answer")  # of one photo, it holds for its animal

# A device's accuracy is about a 50 % radius; at least twice as much holds 95 % (Chapman &
# Wieczorek 2020, uncertainty due to GPS).
POSITIONING_ERROR_FACTOR = 2.0
# Common practice, no source: 5 m range error times the dilution, doubled as above.
METRES_PER_DOP = 10.0
POOR_DOP = 10.0  # common practice: above it a fix is called poor
CELL_METRES = 5000.0  # common practice: a mobile mast's cell in the country
WIRELESS_NETWORK_METRES = 100.0  # common practice
OLD_FIX_SECONDS = 600.0  # common practice: an older fix is doubted
WALKING_METRES_PER_SECOND = 1.5  # common practice: what a person may walk since the fix
FROZEN_AFTER_SECONDS = 120.0  # common practice: a live receiver has had a new fix by then
GEOREFERENCE = "Georeferencing Quick Reference Guide (Zermoglio et al. 2020)"


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
class PlaceClaim:
    """One statement of where, with its source.

    Latitude and longitude in decimal degrees, EPSG:4326; the uncertainty is the radius in metres
    of the smallest circle that holds the whole place (Darwin Core), never zero. ``location_id``
    names a site of the survey where the claim is one. Coordinates are None only for a name that
    matches several sites (the doubt says which), or for camera coordinates off the earth.
    ``offered`` is the latitude and longitude that a doubt suggests instead.
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
    offered: tuple[float, float] | None = None
    said: int = 0  # the number of the action by which a person said it; 0 for file and text


def place_claims(exif: ExifRecord, *, captured: str, area: Area | None) -> tuple[PlaceClaim, ...]:
    """Return what a photo's own coordinates claim of its place: one claim, or none.

    ``captured`` is the chosen event date (may be empty); ``area`` the survey's bounds.
    """
    latitude, longitude = exif.gps_latitude, exif.gps_longitude
    if latitude is None or longitude is None:
        return ()
    point: tuple[float, float] | None = (latitude, longitude)
    verbatim = f"{latitude:.7f}, {longitude:.7f}"
    doubts = [odd for odd in exif.oddities if odd.startswith(("GPSLatitude", "GPSLongitude"))]
    offered, uncertainty, notes = None, None, list[str]()
    if abs(latitude) > 90 or abs(longitude) > 180:
        point = None
        doubts.append(f"{verbatim} is not on the earth")
        if abs(latitude) <= 180 and abs(longitude) <= 90:
            offered = (longitude, latitude)
            doubts.append("latitude and longitude seem swapped")
    else:
        position_doubts, offered = position_doubts_of(latitude, longitude, area)
        uncertainty, quality, notes = _uncertainty(exif, (latitude, longitude), captured)
        doubts.extend((*position_doubts, *quality))
    found = PlaceClaim(
        source="camera gps",
        decimal_latitude=point[0] if point else None,
        decimal_longitude=point[1] if point else None,
        coordinate_uncertainty_in_meters=uncertainty,
        verbatim=verbatim,
        georeference_protocol=f"{GEOREFERENCE}; camera GPS",
        doubts=tuple(doubts),
        note="; ".join(notes),
        offered=offered,
    )
    return (found,)


def position_doubts_of(
    latitude: float,
    longitude: float,
    area: Area | None,
    *,
    known_as: str = "the survey's area",
) -> tuple[tuple[str, ...], tuple[float, float] | None]:
    """Return the doubts of a point on the earth, and the point that they suggest instead."""
    if abs(latitude) < 1e-3 and abs(longitude) < 1e-3:
        return ("0, 0 is what is written where there was no fix",), None
    if area is None or is_inside(latitude, longitude, area):
        return (), None
    for reason, point in _repairs(latitude, longitude):
        if is_inside(*point, area):
            where = f"{point[0]:.5f}, {point[1]:.5f} is inside"
            return (f"outside {known_as}; {reason}: {where}",), point
    return (f"outside {known_as}",), None


def _repairs(latitude: float, longitude: float) -> Iterator[tuple[str, tuple[float, float]]]:
    yield "the sign of the longitude may be lost", (latitude, -longitude)
    yield "the sign of the latitude may be lost", (-latitude, longitude)
    yield "both signs may be lost", (-latitude, -longitude)
    if abs(longitude) <= 90:
        yield "latitude and longitude may be swapped", (longitude, latitude)


WIDE_METRES = 1000.0  # our own bound: beyond it a water is not told from the next


def few_digits(metres: float) -> tuple[str, ...]:
    """The doubt of coordinates whose digits leave so much open, if it is much."""
    wide = f"written with so few digits that {metres / 1000:.0f} km are open"
    return (wide,) if metres > WIDE_METRES else ()


def _uncertainty(
    exif: ExifRecord, point: tuple[float, float], captured: str
) -> tuple[float, list[str], list[str]]:
    """Return the radius in metres, the doubts and the notes that the receiver's own words give."""
    doubts: list[str] = []
    notes: list[str] = []
    method = exif.gps_processing_method.upper()
    if exif.gps_h_positioning_error and exif.gps_h_positioning_error > 0:
        radius = POSITIONING_ERROR_FACTOR * exif.gps_h_positioning_error
        notes.append(f"GPSHPositioningError {exif.gps_h_positioning_error:.1f} m, doubled")
    elif "CELLID" in method:
        radius = CELL_METRES
        doubts.append("placed by a mobile mast, kilometres wide")
    elif "WLAN" in method:
        radius = WIRELESS_NETWORK_METRES
        notes.append("placed by wireless networks")
    else:
        radius = max(gps_uncertainty(captured), METRES_PER_DOP * (exif.gps_dop or 0))
    if "MANUAL" in method:
        notes.append("placed by hand")
    if exif.gps_dop and exif.gps_dop > POOR_DOP:
        doubts.append(f"poor fix: dilution of precision {exif.gps_dop:g}")
    if exif.gps_status == "V":
        doubts.append("the receiver marked its fix void")
    step = exif.gps_coordinate_precision or 0.0
    precision = max(coordinate_precision_uncertainty(point[0], step), digits_uncertainty(*point))
    radius += precision
    doubts.extend(few_digits(precision))
    datum = exif.gps_map_datum.upper().replace("-", "").replace(" ", "")
    if datum and not datum.startswith("WGS84"):
        radius += UNKNOWN_DATUM_METRES
        doubts.append(f"the datum is {exif.gps_map_datum}, not WGS-84")
    age = _fix_age(exif, captured)
    if age > OLD_FIX_SECONDS:
        doubts.append(f"the fix is {age / 60:.0f} min older than the photo")
    elif age > 0:
        radius += WALKING_METRES_PER_SECOND * age
        notes.append(f"the fix is {age:.0f} s older than the photo")
    return max(1.0, round(radius, 1)), doubts, notes


def _fix_age(exif: ExifRecord, captured: str) -> float:
    """Seconds from the fix to the photo; 0 where either is unknown or the photo's has no offset."""
    if captured and captured == exif.date_time_original:
        captured += exif.offset_time
    try:
        taken = datetime.fromisoformat(captured)
    except ValueError:
        return 0.0
    if exif.gps_instant is None or taken.tzinfo is None:
        return 0.0
    return max(0.0, (taken - exif.gps_instant).total_seconds())


def choose_place(claims: Iterable[PlaceClaim]) -> PlaceClaim | None:
    """Return the claim to believe: with coordinates, undoubted, by PRECEDENCE, then the first.

    What the coordinator says is believed whatever it contradicts; of what people say the newest.
    """

    def rank(numbered: tuple[int, PlaceClaim]) -> tuple[bool, bool, int, int, int]:
        number, claim = numbered
        doubted = bool(claim.doubts) and claim.source != "coordinator"
        later = -number if claim.source in SAID_BY_PEOPLE else number
        nowhere = claim.decimal_latitude is None
        return nowhere, doubted, PRECEDENCE.index(claim.source), -claim.said, later

    best = min(enumerate(claims), key=rank, default=None)
    return best[1] if best else None


def apart(one: PlaceClaim | NamedPlace, other: PlaceClaim | NamedPlace) -> float | None:
    """Metres between two places that exclude each other; None if both uncertainties allow both."""
    metres = metres_between(one, other)
    return metres if metres is not None and metres > _allowed(one, other) else None


def _allowed(one: PlaceClaim | NamedPlace, other: PlaceClaim | NamedPlace) -> float:
    return sum(place.coordinate_uncertainty_in_meters or 0.0 for place in (one, other))


def doubts_against(
    claim: PlaceClaim, other: PlaceClaim | NamedPlace, *, name: str = ""
) -> tuple[str, ...]:
    """Return the doubt that a claim's point is not at the place that the message names, or none.

    ``name`` is what the other place is called where the message does not name it.
    """
    metres = apart(claim, other)
    if metres is None:
        return ()
    away = f"{metres / 1000:.1f} km" if metres >= 1000 else f"{metres:.0f} m"
    name = name or other.locality or "the coordinates in the mail"
    return (f"{away} from {name}, both uncertainties allow {_allowed(claim, other):.0f} m",)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fix:
    """One photo's GPS fix with the time its camera showed, both as the file states them."""

    photo: str
    camera: str
    clock_time: str
    latitude: float
    longitude: float
    gps_instant: datetime | None = None


def frozen_fixes(fixes: Sequence[Fix]) -> tuple[tuple[str, str], ...]:
    """Return (photo, doubt) for photos that repeat an earlier photo's fix to the last digit.

    A receiver at work never gives the same digits twice minutes apart; a cached fix does.
    """
    first: dict[tuple[object, ...], Fix] = {}
    doubts = []
    for fix in sorted(fixes, key=lambda f: f.clock_time):
        key = (fix.camera, fix.latitude, fix.longitude, fix.gps_instant)
        start = first.setdefault(key, fix)
        seconds = (_naive(fix) - _naive(start)).total_seconds()
        if seconds > FROZEN_AFTER_SECONDS:
            doubts.append(
                (fix.photo, f"the same fix to the last digit as {seconds / 60:.0f} min before")
            )
    return tuple(doubts)


def _naive(fix: Fix) -> datetime:
    return datetime.fromisoformat(fix.clock_time).replace(tzinfo=None)
