"""Keep the matches of sightings with sites.

Everything here is derived; ``derived_rules`` keeps it up to date.
"""

from __future__ import annotations

from collections.abc import Collection

from triage.matching import Match
from triage.store.connection import Survey
from triage.store.rows import exists, record_of, records_of, select_in

_ORDER = "order by sighting, share desc, location_id"


def every(survey: Survey) -> list[Match]:
    """All matches, the likeliest first within each sighting."""
    return records_of(survey, Match, f"select * from matches {_ORDER}")


def of_sightings(survey: Survey, sightings: Collection[str]) -> list[Match]:
    """Matches of these sightings, the likeliest first within each."""
    rows = select_in(survey, f"select * from matches where sighting in (...) {_ORDER}", sightings)
    return [record_of(Match, row) for row in rows]


def any_kept(survey: Survey) -> bool:
    """Whether the survey was ever matched and something was found."""
    return exists(survey, "matches")
