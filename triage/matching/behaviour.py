"""Read life stage and behaviour of an adult as written, and what they say of breeding."""

from __future__ import annotations

from typing import Any, Literal

from triage.sightings import Sighting
from triage.standards.data_files import toml_of

BreedingBehaviour = Literal["teneral", "oviposition", "pair", ""]


def evidence_data() -> dict[str, Any]:
    """The published classes and the words of ``evidence.toml``."""
    return toml_of("triage.matching", "evidence.toml")


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
