"""Measure how far determiners agree at each rank."""

from __future__ import annotations

from collections import defaultdict

from triage.determinations import Determination, newest_of_each
from triage.estimates.agreement import Agreement, agreement_at
from triage.report.lists import name_at
from triage.report.material import Material

RANKS = ("species", "genus", "family")


def agreement_rows(material: Material) -> list[Agreement]:
    """Agreement at species, genus and family; determiners are named as the release allows.

    The newest answer of each counts. A coarser name, and "cannot be told", are answers of their
    own at a finer rank: not to have named the species is no plain disagreement, and no agreement.
    """
    return [agreement_at(rank, answers_at(rank, material)) for rank in RANKS]


def answers_at(rank: str, material: Material) -> dict[str, dict[str, str]]:
    """From determiner to a mapping from sighting to the answer at a rank."""
    by_sighting: dict[str, list[Determination]] = defaultdict(list)
    for one in material.content.determinations:
        by_sighting[one.sighting].append(one)
    found: dict[str, dict[str, str]] = defaultdict(dict)
    for sighting, members in by_sighting.items():
        for one in newest_of_each(members):
            who = material.release.person(one.identified_by)
            found[who][sighting] = _answer(rank, one, material)
    return dict(found)


def _answer(rank: str, one: Determination, material: Material) -> str:
    if one.outcome != "determined":
        return one.outcome
    name = name_at(rank, one.scientific_name, one.taxon_rank, material.checklist)
    return name or "only to a coarser rank"
