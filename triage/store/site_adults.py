"""Keep what each adult is evidence of at the site where it was, renewed on change.

Everything here is derived; ``derived_rules`` keeps it up to date.
"""

from __future__ import annotations

from triage.matching import AdultTally
from triage.store.connection import Survey
from triage.store.rows import records_of


def tallies(survey: Survey) -> list[AdultTally]:
    """How many sightings are the same evidence, read from an index."""
    return records_of(
        survey,
        AdultTally,
        "select location_id, scientific_name, taxon_rank, year, evidence, count(*) as count,"
        " min(first_day) as first_day, max(last_day) as last_day from site_adults"
        " group by location_id, scientific_name, taxon_rank, year, evidence",
    )
