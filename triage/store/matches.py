"""Keep what sightings are matched with and are evidence of at sites.

Everything here is derived; ``derived_rules`` keeps it up to date.
"""

from __future__ import annotations

from collections.abc import Collection

from triage.matching import AdultTally, Match
from triage.store.connection import Survey

_ORDER = "order by sighting, share desc, location_id"


def every(survey: Survey) -> list[Match]:
    """All matches, the likeliest first within each sighting."""
    return survey.records(Match, f"select * from matches {_ORDER}")


def of_sightings(survey: Survey, sightings: Collection[str]) -> list[Match]:
    """Matches of these sightings, the likeliest first within each."""
    query = f"select * from matches where sighting in (...) {_ORDER}"
    return survey.records_in(Match, query, sightings)


def at_site(survey: Survey, site: str, *, limit: int) -> tuple[list[Match], int]:
    """The likeliest matches of a site, and how many there are in all."""
    here = "matches where location_id = ?"
    query = f"select * from {here} order by share desc, sighting limit ?"
    return survey.records(Match, query, site, limit), survey.count(here, site)


def any_kept(survey: Survey) -> bool:
    """Whether the survey was ever matched and something was found."""
    return survey.exists("matches")


def adult_tallies(survey: Survey) -> list[AdultTally]:
    """How many sightings are the same evidence, read from an index."""
    return survey.records(
        AdultTally,
        "select location_id, scientific_name, taxon_rank, year, evidence, count(*) as count,"
        " min(first_day) as first_day, max(last_day) as last_day from site_adults"
        " group by location_id, scientific_name, taxon_rank, year, evidence",
    )
