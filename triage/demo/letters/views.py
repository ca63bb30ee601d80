"""A species and a seed in, a shot of it from the back, side, front or askew out.

The seed also decides how the photographer stood: no two shots are framed alike.
"""

from __future__ import annotations

from datetime import datetime
from typing import Any

import numpy as np

from triage.demo.shots import Shot


def at(month: int, day: int, hour: int, minute: int, second: int = 0) -> datetime:
    """Return a local time of the season 2026."""
    return datetime(2026, month, day, hour, minute, second)


def dorsal(subject: str, seed: int, **changes: Any) -> Shot:
    """Return a shot of the back, from above."""
    given = {"azimuth": 0.0, "elevation": 82.0, "roll": 180.0, "share": 0.42, "perch_angle": -25.0}
    return _shot(subject, "dorsal", seed, given, changes, turn=30.0)


def lateral(subject: str, seed: int, **changes: Any) -> Shot:
    """Return a shot of the side."""
    given = {
        "azimuth": 88.0,
        "elevation": 12.0,
        "roll": -30.0,
        "share": 0.52,
        "perch_angle": 25.0,
        "dihedral": 6.0,
    }
    return _shot(subject, "lateral", seed, given, changes, turn=24.0)


def oblique(subject: str, seed: int, **changes: Any) -> Shot:
    """Return a shot from half above and half in front."""
    given = {"azimuth": 42.0, "elevation": 40.0, "roll": 10.0, "share": 0.48}
    return _shot(subject, "oblique", seed, given, changes, turn=20.0)


def front(subject: str, seed: int, **changes: Any) -> Shot:
    """Return a shot of the face."""
    given = {"azimuth": 6.0, "elevation": 14.0, "share": 0.6}
    return _shot(subject, "anterior", seed, given, changes, turn=8.0)


def _shot(
    subject: str,
    view: str,
    seed: int,
    given: dict[str, Any],
    changes: dict[str, Any],
    *,
    turn: float,
) -> Shot:
    hand = np.random.default_rng(seed)
    loose = {
        "roll": given.get("roll", 0.0) + float(hand.uniform(-turn, turn)),
        "perch_angle": given.get("perch_angle", 12.0) + float(hand.uniform(-25, 25)),
        "share": given["share"] * float(hand.uniform(0.88, 1.12)),
        "centre": (0.5 + float(hand.uniform(-0.06, 0.06)), 0.5 + float(hand.uniform(-0.05, 0.05))),
        "background_blur": float(hand.uniform(15, 34)),
        "gain": float(hand.uniform(0.9, 1.15)),
    }
    return Shot(subject=subject, view=view, seed=seed, **(given | loose | changes))
