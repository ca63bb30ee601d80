"""A sighting and its site in; the outing it belongs to out: one observer's day at one place."""

from __future__ import annotations

from triage.sightings import Sighting
from triage.standards.tables import parse_event_days

OUTING_CELL_DEGREES = 0.01  # places without a site: one outing within about a kilometre


def outing_of(sighting: Sighting, location_id: str) -> str | None:
    """A name for one observer's day at one place; None without day or place."""
    day, place = one_day(sighting.event_date), location_id
    if not day:
        return None
    if not place:
        if sighting.decimal_latitude is None or sighting.decimal_longitude is None:
            return None
        east = (sighting.decimal_longitude + 180.0) % 360.0  # -180 and 180 are one meridian
        place = (
            f"{round(sighting.decimal_latitude / OUTING_CELL_DEGREES)}"
            f"/{round(east / OUTING_CELL_DEGREES) % round(360 / OUTING_CELL_DEGREES)}"
        )
    return f"{sighting.observer} {day} {place}"


def one_day(event_date: str) -> str:
    """The ISO day of an event within one day; empty for longer or unknown times."""
    try:
        first, last = parse_event_days(event_date)
    except ValueError:
        return ""
    return first.isoformat() if first == last else ""
