"""What the survey knows of one taxon, and the ranks it may have, coarse to fine."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Agreement = Literal["same", "compatible", "conflicting", "unknown"]

RANKS = (
    "order",
    "suborder",
    "superfamily",
    "family",
    "subfamily",
    "genus",
    "subgenus",
    "species",
    "subspecies",
)
BELOW_GENUS = ("species", "subspecies")  # ranks at which an animal is named to its species


@dataclass(frozen=True, slots=True, kw_only=True)
class Taxon:
    """One accepted taxon. ``season`` is first and last day of year of adults (may wrap), or None.

    ``authorship`` is author and year as the code of nomenclature writes them, or empty. ``rank``
    is Darwin Core taxonRank in lower case, one of ``RANKS``. ``sensitive`` is empty or a
    category 1 to 4 (Chapman 2020, table 7).
    """

    scientific_name: str
    rank: str
    authorship: str = ""
    family: str = ""
    suborder: str = ""
    parent: str = ""
    vernacular_name: str = ""
    synonyms: tuple[str, ...] = ()
    season: tuple[int, int] | None = None
    needs_two: bool = False
    sensitive: str = ""
