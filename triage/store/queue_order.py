"""Keep what the order of the queue stands by, for each sighting that waits, renewed on change.

Everything here is derived; ``derived_rules`` keeps it up to date.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass

from triage.store.connection import Survey

_FOR = " where not exists (select 1 from json_each(had) where value = :person)"


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """A waiting sighting as its place is kept; ``had`` are the people who named it already."""

    sighting: str
    observer: str
    value: float
    since: float
    had: tuple[int, ...]


def holds(survey: Survey, sighting: str) -> bool:
    """Whether this sighting waits."""
    rows = survey.connection.execute("select 1 from queue_order where sighting = ?", (sighting,))
    return rows.fetchone() is not None


def best_first(survey: Survey, *, person: int | None) -> Iterator[tuple[str, str]]:
    """Sightings with their senders, the best first, without those that the person has had."""
    return _line(survey, "value desc, sighting", person)


def longest_first(survey: Survey, *, person: int | None) -> Iterator[tuple[str, str]]:
    """The same, the longest waiting first."""
    return _line(survey, "since, sighting", person)


def _line(survey: Survey, order: str, person: int | None) -> Iterator[tuple[str, str]]:
    """Read from an index, row by row, as far as the reader goes."""
    where, values = _without(person)
    rows = survey.connection.execute(
        f"select sighting, observer from queue_order{where} order by {order}", values
    )
    return ((row[0], row[1]) for row in rows)


def looks_done(survey: Survey) -> int:
    """How many determinations stand: the turns of the longest waiting go on from there."""
    row: sqlite3.Row = survey.connection.execute(
        "select count(*) from determinations d join actions a on a.id = d.action_id where a.live"
    ).fetchone()
    return int(row[0])


def count(survey: Survey, *, person: int | None) -> int:
    """How many sightings wait, without those that the person has had."""
    where, values = _without(person)
    row: sqlite3.Row = survey.connection.execute(
        f"select count(*) from queue_order{where}", values
    ).fetchone()
    return int(row[0])


def _without(person: int | None) -> tuple[str, dict[str, int]]:
    return ("", {}) if person is None else (_FOR, {"person": person})
