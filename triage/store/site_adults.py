"""Keep what each adult is evidence of at the site where it was, renewed on change.

Everything here is derived. Triggers note in ``site_adults_due`` which sightings a change may touch.
"""

from __future__ import annotations

from triage.matching import AdultTally
from triage.store import derived_rules, sightings
from triage.store.connection import Survey
from triage.store.rows import record_of


def due(survey: Survey, limit: int) -> list[str]:
    """Sightings that something changed about, and those they came from or became."""
    rows = survey.connection.execute("select sighting from site_adults_due limit ?", (limit,))
    return sightings.with_kin(survey, [row[0] for row in rows])


def count_due(survey: Survey) -> int:
    """How many sightings something changed about."""
    query = "select count(*) from site_adults_due"
    return int(survey.connection.execute(query).fetchone()[0])


def make_all_due(survey: Survey, rules: str) -> None:
    """Have every sighting looked at anew, by these rules."""
    survey.connection.execute("delete from site_adults")
    survey.connection.execute(
        "insert or ignore into site_adults_due select identifier from sightings"
    )
    derived_rules.note(survey, "site_adults", rules)


def tallies(survey: Survey) -> list[AdultTally]:
    """How many sightings are the same evidence, read from an index."""
    rows = survey.connection.execute(
        "select location_id, scientific_name, taxon_rank, year, evidence, count(*) as count,"
        " min(first_day) as first_day, max(last_day) as last_day from site_adults"
        " group by location_id, scientific_name, taxon_rank, year, evidence"
    )
    return [record_of(AdultTally, row) for row in rows]
