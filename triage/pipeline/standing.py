"""Load where sightings stand: their facts, what determiners said, and the name that is accepted."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from itertools import combinations

from triage import determinations
from triage.determinations import Accepted, Determination
from triage.determinations.determiners import may_be_one
from triage.sightings import Sighting, SightingRow
from triage.store import determinations as said
from triage.store import evidence, grouping, joins, people
from triage.store import sightings as store
from triage.store.connection import Survey


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """Live sightings with what was said of them and what stands, loaded together."""

    rows: dict[str, SightingRow]
    determinations: dict[str, list[Determination]]
    accepted: dict[str, Accepted]


def standing(survey: Survey, only: Collection[str] | None = None) -> Standing:
    """Where every live sighting stands, or only these; what is loaded grows with what is asked."""
    found = store.every(survey) if only is None else store.of_identifiers(survey, only)
    rows = {row.identifier: row for row in found}
    said_of = _said_of(survey, rows, everything=only is None)
    checklist = evidence.checklist(survey)
    by_hand = said.states(survey, None if only is None else rows)
    settings = survey.settings
    unsure = _unsure_of(survey, said_of)
    settled = {}
    for identifier, row in rows.items():
        stands = determinations.accepted(
            said_of.get(identifier, ()),
            lineage=lambda name: determinations.lineage_of(checklist, name),
            needed=settings.determinations.independent,
            extra_care=lambda name, row=row: determinations.care_needed(  # type: ignore[misc]
                name, row, checklist, area=settings.survey.area
            ),
            may_be_one=unsure.get(identifier, ()),
        )
        state, reason = by_hand.get(identifier, ("", ""))
        if state == "set aside":
            stands = replace(stands, state="set aside", reason=reason)
        settled[identifier] = stands
    return Standing(rows=rows, determinations=said_of, accepted=settled)


def _said_of(
    survey: Survey, rows: dict[str, SightingRow], *, everything: bool
) -> dict[str, list[Determination]]:
    before = store.predecessors(survey, rows)
    wanted = {*rows, *(old for olds in before.values() for old in olds)}
    made = said.of_sightings(survey, None if everything else wanted)
    found = {
        identifier: determinations.follow(identifier, row.photos, made, before.get(identifier, ()))
        for identifier, row in rows.items()
    }
    return {identifier: ones for identifier, ones in found.items() if ones}


def _unsure_of(
    survey: Survey, said_of: dict[str, list[Determination]]
) -> dict[str, list[frozenset[str]]]:
    """By sighting: every two of its determiners who may be one person, as long as nobody said."""
    by = {one: sorted({d.identified_by for d in said}) for one, said in said_of.items()}
    several = {one: codes for one, codes in by.items() if len(codes) > 1}
    if not several:
        return {}
    names, apart = people.names(survey), joins.told_apart(survey)
    found = {
        identifier: [
            pair
            for one, other in combinations(codes, 2)
            if may_be_one(names[one], names[other])
            and (pair := frozenset((one, other))) not in apart
        ]
        for identifier, codes in several.items()
    }
    return {identifier: pairs for identifier, pairs in found.items() if pairs}


def in_use(survey: Survey, stands: Standing) -> list[Sighting]:
    """Those that are neither set aside nor merged into another."""
    return [
        one
        for one in sightings(survey, stands)
        if one.state != "set aside" and not stands.rows[one.identifier].superseded_by
    ]


def sightings(survey: Survey, stands: Standing | None = None) -> list[Sighting]:
    """Live sightings as matching, exports and reports know them; all unless loaded before."""
    stands = stands or standing(survey)
    codes = people.codes(survey)
    return [
        determinations.sighting_of(
            row,
            stands.accepted[identifier],
            stands.determinations.get(identifier, ()),
            identifier=identifier,
            observer=codes.get(row.observer, "") if row.observer is not None else "",
            photos=row.photos,
            frozen=bool(row.frozen_at),
        )
        for identifier, row in stands.rows.items()
    ]


def of_photos(survey: Survey, photos: Collection[str]) -> list[Sighting]:
    """The sightings that these photos are in now."""
    found = grouping.sightings_of_photos(survey, list(photos))
    return sightings(survey, standing(survey, found)) if found else []
