"""When one determiner is not enough: a rare taxon, an odd season, a place outside the area.

The reasons name no taxon: who looks second must not learn what was said first.
"""

from __future__ import annotations

from triage.analysis.geodesy import Area, is_inside
from triage.checklist import Checklist
from triage.sightings import Facts

"""South, west, north and east in degrees."""


def care_needed(name: str, facts: Facts, checklist: Checklist, *, area: Area | None = None) -> str:
    """Why two determiners must agree on this name for this sighting, or an empty text."""
    taxon = checklist.resolve(name)
    if taxon is None:
        return "the name is not on the checklist"
    if taxon.needs_two:
        return "the taxon is marked as needing two determiners"
    if facts.event_date and checklist.in_season(taxon, facts.event_date) is False:
        return "the day is outside the season of the taxon"
    if area is not None and not _may_be_inside(facts, area):
        return "the place lies outside the survey's area"
    return ""


def lineage_of(checklist: Checklist, name: str) -> list[tuple[str, str]]:
    """A name's (rank, name) pairs from its own rank up; an unknown name stands alone."""
    return list(reversed(checklist.lineage(name).items())) or [("unknown", name)]


def _may_be_inside(facts: Facts, area: Area) -> bool:
    """Whether the place lies in the area; a sighting without a place is not held against it."""
    if facts.decimal_latitude is None or facts.decimal_longitude is None:
        return True
    return is_inside(facts.decimal_latitude, facts.decimal_longitude, area)
