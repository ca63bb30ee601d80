"""A checklist table in, taxa with ranks, synonyms and seasons that names resolve to out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Agreement = Literal["same", "compatible", "conflicting", "unknown"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Taxon:
    """One accepted taxon. ``season`` is first and last day of year of adults (may wrap), or None.

    ``rank`` is Darwin Core taxonRank in lower case: order, suborder, family, genus, species.
    """

    scientific_name: str
    rank: str
    family: str = ""
    suborder: str = ""
    parent: str = ""
    vernacular_name: str = ""
    synonyms: tuple[str, ...] = ()
    season: tuple[int, int] | None = None
    needs_two: bool = False
    sensitive: str = ""
