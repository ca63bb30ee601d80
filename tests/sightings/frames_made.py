"""Pictures of sightings for tests: what a survey would know of one exposure."""

from __future__ import annotations

from dataclasses import replace

from pictures_made import MEASURED

from triage.metadata.capture_time import TimeClaim
from triage.metadata.choosing import Chosen
from triage.metadata.position import PlaceClaim
from triage.sightings import Picture


def time(event_date: str, source: str = "camera clock") -> TimeClaim:
    return TimeClaim(source=source, event_date=event_date, uncertainty_seconds=60.0)  # type: ignore[arg-type]


def place(latitude: float | None = 53.9, **changes: object) -> PlaceClaim:
    claim = PlaceClaim(
        source="camera gps",
        decimal_latitude=latitude,
        decimal_longitude=None if latitude is None else 21.7,
        coordinate_uncertainty_in_meters=None if latitude is None else 30.0,
    )
    return replace(claim, **changes)  # type: ignore[arg-type]


def picture(
    best: str,
    when: TimeClaim | str | None = "2026-06-14T12:00:00",
    where: PlaceClaim | None = None,
    *,
    copies: tuple[str, ...] = (),
    observer: int | None = 1,
    received: str = "2026-06-15T18:00:00+00:00",
    **measured: object,
) -> Picture:
    return Picture(
        best=best,
        copies=copies or (best,),
        observer=observer,
        message="m1",
        received=received,
        measurement=replace(MEASURED, **measured),  # type: ignore[arg-type]
        chosen=Chosen(time=time(when) if isinstance(when, str) else when, place=where),
        colours=(0.9, 0.1),
    )
