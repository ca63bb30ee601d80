"""Read life stage and behaviour of an adult as written, and what they say of breeding."""

from __future__ import annotations

import functools
import tomllib
from importlib import resources
from typing import Any, Literal

from triage.sightings import Sighting

BreedingBehaviour = Literal["teneral", "oviposition", "pair", ""]


@functools.cache
def evidence_data() -> dict[str, Any]:
    """The published classes and the words of ``evidence.toml``."""
    content = resources.files("triage.matching").joinpath("evidence.toml").read_text("utf-8")
    return tomllib.loads(content)


def behaviour_of(sighting: Sighting) -> BreedingBehaviour:
    """What the adult's life stage and behaviour say of breeding: the strongest, or nothing."""
    said = f"{sighting.life_stage} {sighting.behavior}".casefold()
    kinds: tuple[BreedingBehaviour, ...] = ("teneral", "oviposition", "pair")
    for kind in kinds:
        if any(word in said for word in evidence_data()["words"][kind]):
            return kind
    return ""


def is_teneral(sighting: Sighting) -> bool:
    """Whether the adult had just emerged."""
    return behaviour_of(sighting) == "teneral"
