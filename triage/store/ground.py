"""Find what lies on the ground for a map, and which sightings speak of one site."""

from __future__ import annotations

from dataclasses import dataclass

from triage.matching import Match
from triage.store.connection import Survey
from triage.store.rows import record_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """Where and when one sighting was."""

    decimal_latitude: float
    decimal_longitude: float
    event_date: str


def spots(survey: Survey) -> list[Spot]:
    """Every live sighting that has a place."""
    rows = survey.connection.execute(
        "select decimal_latitude, decimal_longitude, event_date from known_sightings"
        " where superseded_by is null and decimal_latitude is not null"
        " and decimal_longitude is not null order by id"
    )
    return [record_of(Spot, row) for row in rows]


def matches_at(survey: Survey, site: str, *, limit: int) -> tuple[list[Match], int]:
    """The likeliest matches of a site, and how many there are in all."""
    run = survey.connection.execute
    rows = run(
        "select * from matches where location_id = ? order by share desc, sighting limit ?",
        (site, limit),
    )
    count = run("select count(*) from matches where location_id = ?", (site,)).fetchone()[0]
    return [record_of(Match, row) for row in rows], int(count)


def stamp(survey: Survey) -> tuple[int, ...]:
    """Numbers that differ when anything differs that a figure of sites is made from."""
    queries = (
        "select coalesce(max(id), 0) from actions",
        "select count(*) from determinations",
        "select count(*) from sightings",
        "select count(*) from photos",
        "select count(*) from messages",
        "select count(*) from measurements",
        "select count(*) from matches",
    )
    return tuple(int(survey.connection.execute(query).fetchone()[0]) for query in queries)
