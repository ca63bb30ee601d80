"""A species and a seed in, the usual shot of it from the back, side, front or askew out."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from triage.demo.shots import Shot


def at(month: int, day: int, hour: int, minute: int, second: int = 0) -> datetime:
    """Return a local time of the season 2026."""
    return datetime(2026, month, day, hour, minute, second)


def dorsal(subject: str, seed: int, **changes: Any) -> Shot:
    """Return a shot of the back, from above."""
    given: dict[str, Any] = {
        "view": "dorsal",
        "azimuth": 0.0,
        "elevation": 84.0,
        "roll": 155.0,
        "share": 0.42,
        "perch_angle": -20.0,
        "seed": seed,
    }
    return Shot(subject=subject, **(given | changes))


def lateral(subject: str, seed: int, **changes: Any) -> Shot:
    """Return a shot of the side."""
    given: dict[str, Any] = {
        "view": "lateral",
        "azimuth": 88.0,
        "elevation": 6.0,
        "roll": -50.0,
        "share": 0.56,
        "perch_angle": 30.0,
        "seed": seed,
    }
    return Shot(subject=subject, **(given | changes))


def oblique(subject: str, seed: int, **changes: Any) -> Shot:
    """Return a shot of half above, half in front."""
    given: dict[str, Any] = {
        "view": "oblique",
        "azimuth": 40.0,
        "elevation": 42.0,
        "roll": 10.0,
        "share": 0.5,
        "seed": seed,
    }
    return Shot(subject=subject, **(given | changes))


def front(subject: str, seed: int, **changes: Any) -> Shot:
    """Return a shot of the face."""
    given: dict[str, Any] = {
        "view": "anterior",
        "azimuth": 6.0,
        "elevation": 14.0,
        "share": 0.62,
        "seed": seed,
    }
    return Shot(subject=subject, **(given | changes))
