"""What the exposures of one animal say together: when, where, the best views, the suborder."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from datetime import datetime
from typing import Any

from triage.metadata.capture_time import TimeClaim
from triage.metadata.choosing import Chosen
from triage.metadata.position import SAID_BY_PEOPLE, PlaceClaim
from triage.quality import Measurement
from triage.standards.iso_dates import earliest_first

NO_RADIUS = 1e9  # metres: a place without an uncertainty is the least sure


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """What is known of a sighting before anybody names it; spelled out here and nowhere else.

    ``event_date`` is ISO 8601 as precise as the evidence. Coordinates are the held, unreleased
    ones. ``best_dorsal`` and ``best_lateral`` are digests, empty where no photo shows that view.
    ``first_received`` is when the survey had the first of its photos.
    """

    event_date: str = ""
    decimal_latitude: float | None = None
    decimal_longitude: float | None = None
    coordinate_uncertainty_in_meters: float | None = None
    location_id: str = ""
    locality: str = ""
    georeference_protocol: str = ""
    place_source: str = ""
    time_source: str = ""
    suborder: str = ""
    best_dorsal: str = ""
    best_lateral: str = ""
    first_received: str = ""


FIELDS_OF_TIME = ("event_date", "time_source")  # the source last
FIELDS_OF_PLACE = (
    *("decimal_latitude", "decimal_longitude", "coordinate_uncertainty_in_meters"),
    *("location_id", "locality", "georeference_protocol", "place_source"),
)


def facts_of(found: Facts) -> dict[str, Any]:
    """The facts alone, by name, of anything that has them: to make another record of them."""
    return {field.name: getattr(found, field.name) for field in fields(Facts)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """One exposure: its best copy, all its copies, and what stands for it.

    ``observer`` is the person who sent it first, ``message`` and ``received`` the identifier and
    the time of that mail; ``burst`` names its burst or is empty; ``told_apart`` says that the
    mail's words speak of several animals.
    """

    best: str
    copies: tuple[str, ...]
    observer: int | None
    message: str
    received: str
    measurement: Measurement
    chosen: Chosen
    colours: tuple[float, ...] = ()
    burst: str = ""
    told_apart: bool = False

    @property
    def partition(self) -> str:
        """Observer and day, or the message without a day: only within it are photos joined."""
        return f"{self.observer or ''} {day_of(self.chosen.time) or self.message}"


Pictures = Mapping[str, Picture]
"""Exposures by the digest of their best copy."""


def day_of(time: TimeClaim | None) -> str:
    """The day of a claim, the first one of an interval, or nothing."""
    return time.event_date[:10] if time else ""


def seconds_of(time: TimeClaim | None) -> float | None:
    """Seconds on a clock common to one observer's photos, if the time of day is known."""
    if time is None or "/" in time.event_date or "T" not in time.event_date:
        return None
    moment = datetime.fromisoformat(time.event_date)
    # Cameras of one observer show local time: without offset that clock is compared as it is.
    return moment.replace(tzinfo=None).timestamp()


def facts_of_pictures(shown: Sequence[Picture]) -> Facts:
    """The earliest time, the surest place, the best photo of each view, the likelier suborder.

    What people say of one photo holds for its animal, whatever the files say.
    """
    time = _earliest([one.chosen.time for one in shown if one.chosen.time])
    place = _surest([one.chosen.place for one in shown if one.chosen.place])
    usable = by_usability(shown)
    best = {
        view: next((one.best for one in usable if one.measurement.view == view), "")
        for view in ("dorsal", "lateral")
    }
    return Facts(
        event_date=time.event_date if time else "",
        decimal_latitude=place.decimal_latitude if place else None,
        decimal_longitude=place.decimal_longitude if place else None,
        coordinate_uncertainty_in_meters=place.coordinate_uncertainty_in_meters if place else None,
        location_id=place.location_id if place else "",
        locality=place.locality if place else "",
        georeference_protocol=place.georeference_protocol if place else "",
        place_source=place.source if place else "",
        time_source=time.source if time else "",
        suborder=_likelier_suborder([one.measurement for one in shown]),
        best_dorsal=best["dorsal"],
        best_lateral=best["lateral"],
        first_received=min((one.received for one in shown), key=earliest_first),
    )


def changes_since(then: Facts, now: Facts) -> list[str]:
    """What would change on a sighting that is fixed, in words for the coordinator."""
    found = []
    if now.event_date != then.event_date:
        found.append(f"the date would become {now.event_date or 'unknown'}")
    if now.location_id != then.location_id or _point(now) != _point(then):
        where = now.locality or f"{now.decimal_latitude}, {now.decimal_longitude}"
        found.append(f"the place would become {where}")
    return found


def _point(facts: Facts) -> tuple[float | None, float | None]:
    return facts.decimal_latitude, facts.decimal_longitude


def _earliest(times: Sequence[TimeClaim]) -> TimeClaim | None:
    """By hand first and of that the newest, then with a time of day, then the earliest."""

    def rank(claim: TimeClaim) -> tuple[bool, int, bool, str]:
        by_hand = claim.source in SAID_BY_PEOPLE or claim.said > 0
        return not by_hand, -claim.said, len(claim.event_date) < 11, claim.event_date

    return min(times, key=rank, default=None)


def _surest(places: Sequence[PlaceClaim]) -> PlaceClaim | None:
    """By hand first and of that the newest, then undoubted, of the smallest radius."""

    def rank(claim: PlaceClaim) -> tuple[bool, int, int, bool, float]:
        radius = claim.coordinate_uncertainty_in_meters or NO_RADIUS
        by_hand = claim.source in SAID_BY_PEOPLE
        nowhere = claim.decimal_latitude is None
        return not by_hand, -claim.said, len(claim.doubts), nowhere, radius

    return min(places, key=rank, default=None)


def by_usability(shown: Sequence[Picture]) -> list[Picture]:
    """The best first."""
    return sorted(shown, key=lambda one: (-one.measurement.usability, one.best))


def _likelier_suborder(measured: Sequence[Measurement]) -> str:
    chance = sum(
        one.suborder_probability if one.suborder == "anisoptera" else 1 - one.suborder_probability
        for one in measured
    ) / len(measured)
    return "anisoptera" if chance >= 0.5 else "zygoptera"
