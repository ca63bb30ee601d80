"""The letters to the Linnet Water Survey in 2026, read from the demo's data.

A picture's shot names the view and the species (``dorsal = "Aeshna cyanea"``). Its seed also
decides how the photographer stood: no two shots are framed alike.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from triage.demo.data_files import FOLDER, read_toml
from triage.demo.scenario import Extra, Letter, Picture
from triage.demo.shots import Shot

_STANCES = read_toml("views.toml")


def letters() -> tuple[Letter, ...]:
    """Return all letters, each once, in the order of their dates."""
    files = sorted(path.name for path in (FOLDER / "letters").glob("*.toml"))
    every = [_letter(one) for name in files for one in read_toml(f"letters/{name}")["letter"]]
    return tuple(sorted(every, key=lambda letter: (letter.day, letter.key)))


def _letter(given: dict[str, Any]) -> Letter:
    rest = dict(given)
    pictures = tuple(_picture(one) for one in rest.pop("picture", ()))
    extras = tuple(Extra(**one) for one in rest.pop("extra", ()))
    forwards = tuple(_letter(one) for one in rest.pop("forwards", ()))
    return Letter(pictures=pictures, extras=extras, forwards=forwards, **rest)


def _picture(given: dict[str, Any]) -> Picture:
    shot = given.get("shot")
    return Picture(**(given | ({"shot": _shot(shot)} if shot else {})))


def _shot(given: dict[str, Any]) -> Shot:
    view = next((key for key in given if key in _STANCES), None)
    if view is None:
        return Shot(**given)
    changes = {key: value for key, value in given.items() if key != view}
    stance = dict(_STANCES[view])
    loose = _hand_held(stance, stance.pop("turn"), seed=given["seed"])
    return Shot(subject=given[view], **(stance | loose | changes))


def _hand_held(stance: dict[str, Any], turn: float, *, seed: int) -> dict[str, Any]:
    """Draw how this photographer stood; the order of the draws decides the pictures."""
    hand = np.random.default_rng(seed)
    return {
        "roll": stance.get("roll", 0.0) + float(hand.uniform(-turn, turn)),
        "perch_angle": stance.get("perch_angle", 12.0) + float(hand.uniform(-25, 25)),
        "share": stance["share"] * float(hand.uniform(0.88, 1.12)),
        "centre": (0.5 + float(hand.uniform(-0.06, 0.06)), 0.5 + float(hand.uniform(-0.05, 0.05))),
        "background_blur": float(hand.uniform(15, 34)),
        "gain": float(hand.uniform(0.9, 1.15)),
    }
