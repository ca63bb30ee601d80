"""Keep what determiners said of sightings, and which sightings people set aside; give it back."""

from __future__ import annotations

import sqlite3
from collections.abc import Collection

from triage.determinations import Determination
from triage.standards.groups import in_groups
from triage.store import rows
from triage.store.connection import Survey


def add(survey: Survey, determination: Determination, *, person: int, action: int) -> None:
    """Append a determination; who made it is kept as a person."""
    values = rows.values_of(determination) | {"person_id": person, "action_id": action}
    del values["identified_by"]
    survey.insert("determinations", values)


def of_sightings(
    survey: Survey, sightings: Collection[str] | None = None
) -> dict[str, list[Determination]]:
    """By sighting: the live determinations of it, oldest first; of all unless some are named.

    ``identified_by`` is the person's code.
    """
    query = (
        "select d.*, p.code as identified_by from determinations d"
        f" join people p on p.id = d.person_id where {rows.holds()}"
    )
    found = _of(survey, query, "d.sighting", sightings)
    found.sort(key=lambda row: (row["date_identified"], row["id"]))
    return in_groups((row["sighting"], rows.record_of(Determination, row)) for row in found)


def of_sighting(survey: Survey, sighting: str) -> list[Determination]:
    """The live determinations made of one sighting, oldest first."""
    return of_sightings(survey, [sighting]).get(sighting, [])


def determiners(survey: Survey) -> set[str]:
    """The codes of those who made a determination that holds."""
    found = survey.run(
        "select code from people p where exists (select 1 from determinations"
        f" where person_id = p.id and {rows.holds()})"
    )
    return {row["code"] for row in found}


def names(survey: Survey) -> list[str]:
    """Every name that a determination gives which holds."""
    query = f"select distinct scientific_name from determinations where {rows.holds()}"
    return [name for name in survey.column(f"{query} order by 1") if name]


def sightings_named(survey: Survey, names: Collection[str]) -> list[str]:
    """The sightings of which a determination that holds gives one of these names."""
    query = f"select distinct sighting from determinations where {rows.holds()}"
    return sorted(survey.column_in(f"{query} and scientific_name in (...)", names))


def count_of_action(survey: Survey, action: int) -> int:
    """How many determinations an action has made so far."""
    return survey.count("determinations where action_id = ?", action)


def add_state(survey: Survey, sighting: str, state: str, reason: str, *, action: int) -> None:
    """Append that a coordinator set a sighting aside, or back into the queue."""
    values = {"sighting": sighting, "state": state, "reason": reason, "action_id": action}
    survey.insert("sighting_states", values)


def states(survey: Survey, sightings: Collection[str] | None = None) -> dict[str, tuple[str, str]]:
    """By sighting: the newest live state set by hand, with its reason."""
    query = f"select * from sighting_states where {rows.holds()}"
    found = sorted(_of(survey, query, "sighting", sightings), key=lambda row: row["id"])
    return {row["sighting"]: (row["state"], row["reason"]) for row in found}


def _of(
    survey: Survey, query: str, column: str, sightings: Collection[str] | None
) -> list[sqlite3.Row]:
    if sightings is None:
        return survey.run(query).fetchall()
    return survey.run_in(f"{query} and {column} in (...)", sightings)
