"""Determinations follow the photos they were made on, through splits and merges of sightings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from triage.determinations.records import Accepted, Determination
from triage.sightings import Facts, Sighting
from triage.sightings.facts import facts_of


def follow(
    sighting: str,
    photos: Sequence[str],
    made: Mapping[str, Sequence[Determination]],
    before: Sequence[str],
) -> list[Determination]:
    """All determinations of a sighting: its own, and earlier sightings' of photos that it holds."""
    found = list(made.get(sighting, ()))
    held = set(photos)
    for old in before:
        found += [one for one in made.get(old, ()) if held & set(one.photos)]
    return found


def sighting_of(
    facts: Facts,
    stands: Accepted,
    determinations: Sequence[Determination],
    *,
    identifier: str,
    observer: str,
    photos: tuple[str, ...],
    frozen: bool,
) -> Sighting:
    """Join the facts of a sighting with the name that stands and what determiners saw beside it."""
    behaviors = [one.behavior for one in determinations if one.behavior]
    stages = [one.life_stage for one in determinations if one.life_stage]
    return Sighting(
        **facts_of(facts),
        identifier=identifier,
        observer=observer,
        photos=photos,
        state=stands.state,
        agreed=stands.agreed,
        scientific_name=stands.scientific_name,
        taxon_rank=stands.taxon_rank,
        qualifier=stands.qualifier,
        sex=stands.sex,
        behavior=" | ".join(dict.fromkeys(behaviors)),
        life_stage=stages[-1] if stages else "adult",
        frozen=frozen,
    )
