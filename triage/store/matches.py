"""Keep the matches of sightings with sites, and which of them are due to be made anew.

Everything here is derived. Triggers note in ``matches_due`` which sightings a change may touch.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable

from triage.matching import Match
from triage.store.connection import Survey
from triage.store.rows import insert_all, record_of, select_in, values_of

_ORDER = "order by sighting, share desc, location_id"


def replace_all(survey: Survey, found: Iterable[Match]) -> None:
    """Write the matches of all sightings in place of the earlier ones."""
    survey.connection.execute("delete from matches")
    survey.connection.execute("delete from matches_due")
    insert_all(survey, "matches", map(values_of, found))


def every(survey: Survey) -> list[Match]:
    """All matches, the likeliest first within each sighting."""
    rows = survey.connection.execute(f"select * from matches {_ORDER}")
    return [record_of(Match, row) for row in rows]


def of_sightings(survey: Survey, sightings: Collection[str]) -> list[Match]:
    """Matches of these sightings, the likeliest first within each."""
    rows = select_in(survey, f"select * from matches where sighting in (...) {_ORDER}", sightings)
    return [record_of(Match, row) for row in rows]


def any_kept(survey: Survey) -> bool:
    """Whether the survey was ever matched and something was found."""
    return survey.connection.execute("select 1 from matches limit 1").fetchone() is not None


def due(survey: Survey, sightings: Collection[str] | None = None) -> list[str]:
    """Those of these sightings, or of all, that something changed about since they were matched."""
    if sightings is None:
        rows = survey.connection.execute("select sighting from matches_due order by sighting")
        return [row[0] for row in rows]
    query = "select sighting from matches_due where sighting in (...)"
    return sorted(row[0] for row in select_in(survey, query, sightings))
