"""Find what lies on the ground for a map, and whether anything of it changed."""

from __future__ import annotations

import math
from dataclasses import dataclass

from triage.store.connection import Survey

METRES_PER_DEGREE = 111_320.0  # of latitude, on a sphere: a drawing, nothing is measured on it

_SEEN = (
    "from known_sightings where superseded_by is null and decimal_latitude is not null"
    " and decimal_longitude is not null"
)
_DAY = (  # a year or a month alone is no day
    "case when event_date glob '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]*'"
    " then cast(strftime('%j', substr(event_date, 1, 10)) as integer) end"
)
_CELL = "round(decimal_longitude / :wide), round(decimal_latitude / :high)"


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """Sightings near each other: where the first was, how many, their days of the year, dates.

    ``days`` are numbers from 1 to 366 separated by blanks, one for each sighting whose day is
    known; ``first`` and ``last`` are ISO days, empty where none is known.
    """

    decimal_latitude: float
    decimal_longitude: float
    count: int
    days: str
    first: str
    last: str


def spots(survey: Survey, *, cell: float, most: int) -> list[Spot]:
    """All live sightings that have a place, those in one square of the ground together.

    A square is ``cell`` metres wide, or as often twice that as it takes to have at most ``most``.
    """
    middle = survey.first(f"select (min(decimal_latitude) + max(decimal_latitude)) / 2 {_SEEN}")
    if middle is None:
        return []
    size = {"high": cell / METRES_PER_DEGREE}
    size["wide"] = size["high"] / max(math.cos(math.radians(middle)), 1e-6)
    while survey.count(f"(select distinct {_CELL} {_SEEN})", size) > most:
        size = {name: 2 * metres for name, metres in size.items()}
    return survey.records(
        Spot,
        "select decimal_latitude, decimal_longitude, min(identifier), count(*) as count,"
        f" coalesce(group_concat({_DAY}, ' '), '') as days,"
        " coalesce(min(nullif(substr(event_date, 1, 10), '')), '') as first,"
        f" max(substr(event_date, 1, 10)) as last {_SEEN} group by {_CELL} order by 3",
        size,
    )


def changes(survey: Survey) -> int:
    """A number that differs when a site, or the place or the day of a sighting, does."""
    return int(survey.first("select number from ground_changes"))


def stamp(survey: Survey) -> tuple[object, ...]:
    """Values that differ when anything differs that a figure of sites is made from.

    Of tables whose rows are appended or written anew the newest row is enough, which costs the same
    in a survey of any size; what is deleted for good is deleted by an action.
    """
    grows = ("actions", "determinations", "photos", "messages", "measurements", "matches")
    queries = (
        *(f"select coalesce(max(rowid), 0) from {table}" for table in grows),
        "select coalesce(max(rules), '') from derived_rules where name = 'matches'",
    )
    found = (survey.first(query) for query in queries)
    return (changes(survey), repr(survey.settings), *found)
