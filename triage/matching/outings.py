"""A sighting and its site in; the outing it belongs to out: one observer's day at one place."""

from __future__ import annotations

from triage.sightings import Sighting
from triage.standards.tables import parse_event_days

OUTING_CELL_DEGREES = 0.01  # places without a site: one outing within about a kilometre


def outing_of(sighting: Sighting, location_id: str) -> str | None:
    """A name for one observer's day at one place; None without day or place."""
    day, place = one_day(sighting.event_date), place_of(sighting, location_id)
    return f"{sighting.observer} {day} {place}" if day and place else None


def place_of(sighting: Sighting, location_id: str) -> str | None:
    """The site, or the cell of OUTING_CELL_DEGREES without one; None without coordinates."""
    if location_id:
        return location_id
    if sighting.decimal_latitude is None or sighting.decimal_longitude is None:
        return None
    east = round((sighting.decimal_longitude + 180.0) % 360.0 / OUTING_CELL_DEGREES)
    # -180 and 180 are one meridian.
    return (
        f"{round(sighting.decimal_latitude / OUTING_CELL_DEGREES)}"
        f"/{east % round(360 / OUTING_CELL_DEGREES)}"
    )


def one_day(event_date: str) -> str:
    """The ISO day of an event within one day; empty for longer or unknown times."""
    try:
        first, last = parse_event_days(event_date)
    except ValueError:
        return ""
    return first.isoformat() if first == last else ""
