"""Determinations of one sighting in, the accepted one, or why there is none yet, out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

DeterminationOutcome = Literal["determined", "cannot tell", "not an adult"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Determination:
    """One statement by one determiner about one sighting; a later one by the same supersedes it.

    ``scientific_name`` is empty unless the outcome is ``determined``; ``photos`` are the digests
    it was made on. ``date_identified`` is an ISO instant in UTC.
    """

    identifier: str
    sighting: str
    outcome: DeterminationOutcome
    scientific_name: str = ""
    taxon_rank: str = ""
    qualifier: str = ""
    sex: str = ""
    life_stage: str = ""
    behavior: str = ""
    reason: str = ""
    remarks: str = ""
    identified_by: str
    date_identified: str
    second_opinion: bool = False
    photos: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Accepted:
    """Where a sighting stands: its state, the accepted name if any, and the reason in words."""

    state: Literal["queued", "determined", "second opinion", "undeterminable", "set aside"]
    scientific_name: str = ""
    taxon_rank: str = ""
    qualifier: str = ""
    sex: str = ""
    reason: str = ""
