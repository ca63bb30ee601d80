"""Order the names of a checklist by season and by what was found near by."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from triage.checklist.taxa import RANKS, Taxon
from triage.checklist.tree import Checklist


@dataclass(frozen=True, slots=True, kw_only=True)
class Likely:
    """A name that may be meant. ``in_season`` is None where the season or the date is unknown;
    ``found_near`` counts the exuviae of it that the nearest sites gave."""

    taxon: Taxon
    in_season: bool | None
    found_near: int


def by_season_and_place(
    checklist: Checklist, event_date: str, found_near: Mapping[str, int]
) -> list[Likely]:
    """Every name of the checklist: those of the season first, among them those found nearby.

    Species come before the genera and families that hold them. Among names of one rank those of
    the season come first, whatever was found nearby; none is left out.
    """
    likely = [
        Likely(
            taxon=taxon,
            in_season=checklist.in_season(taxon, event_date),
            found_near=found_near.get(taxon.scientific_name, 0),
        )
        for taxon in checklist.names()
    ]
    return sorted(likely, key=_place)


def in_checklist_order(checklist: Checklist) -> list[Likely]:
    """Every name in the order of its kind and letters, so that the order says nothing."""
    blind = [Likely(taxon=one, in_season=None, found_near=0) for one in checklist.names()]
    return sorted(blind, key=lambda one: (_coarse(one.taxon), one.taxon.scientific_name))


def _place(one: Likely) -> tuple[int, bool, int, bool, str]:
    return (
        _coarse(one.taxon),
        one.in_season is False,
        -one.found_near,
        one.in_season is None,
        one.taxon.scientific_name,
    )


def _coarse(taxon: Taxon) -> int:
    """0 for species and below, more for every step up."""
    return max(RANKS.index("species") - RANKS.index(taxon.rank), 0)
