"""Keep what the order of the queue stands by, and which browser holds which sighting of it.

The order is derived; ``derived_rules`` keeps it up to date.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from triage.store.actions import utc_text
from triage.store.connection import Survey

_HAD = "exists (select 1 from json_each(had) where value = ?)"


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
    return survey.exists("queue_order where sighting = ?", sighting)


Order = Literal["value desc, sighting", "since, sighting"]


def in_line(survey: Survey, order: Order, *, person: int | None) -> Iterator[tuple[str, str]]:
    """Sightings with their senders, the best or the longest waiting first.

    Those that the person has had are left out. Read from an index, row by row, as far as the
    reader goes.
    """
    where, values = ("", ()) if person is None else (f" where not {_HAD}", (person,))
    query = f"select sighting, observer from queue_order{where} order by {order}"
    return ((row[0], row[1]) for row in survey.run(query, *values))


def looks_done(survey: Survey) -> int:
    """How many determinations stand: the turns of the longest waiting go on from there."""
    taken_back = "determinations where action_id in (select id from actions where live = 0)"
    return survey.count("determinations") - survey.count(taken_back)


def count(survey: Survey, *, person: int | None) -> int:
    """How many sightings wait, without those that the person has had."""
    waiting = survey.count("queue_order")
    if person is None:
        return waiting
    return waiting - survey.count(f"queue_order where had <> '[]' and {_HAD}", person)


def take(survey: Survey, sighting: str, holder: str, *, now: datetime, until: datetime) -> bool:
    """Hold a sighting for a browser, or hold it longer; false if another holds it."""
    cursor = survey.run(
        "insert into leases (sighting, holder, until) values (?, ?, ?)"
        " on conflict (sighting) do update set holder = excluded.holder, until = excluded.until"
        " where holder = excluded.holder or until <= ?",
        sighting,
        holder,
        utc_text(until),
        utc_text(now),
    )
    return cursor.rowcount > 0


def held_by_others(survey: Survey, holder: str, *, now: datetime) -> set[str]:
    """Sightings that other browsers hold now."""
    query = "select sighting from leases where holder <> ? and until > ?"
    return set(survey.column(query, holder, utc_text(now)))


def let_go(survey: Survey, holder: str, *, keep: frozenset[str] = frozenset()) -> None:
    """Hold nothing for this browser any longer but what it says."""
    held = {*survey.column("select sighting from leases where holder = ?", holder)}
    survey.run_in("delete from leases where sighting in (...)", held - keep)
