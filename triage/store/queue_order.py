"""Keep what the order of the queue stands by, for each sighting that waits, renewed on change.

Everything here is derived. Triggers note in ``queue_due`` which sightings a change may touch.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass

from triage.store import sightings
from triage.store.connection import Survey
from triage.store.rows import insert

_FOR = " where not exists (select 1 from json_each(had) where value = :person)"


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """A waiting sighting as its place is kept; ``had`` are the people who named it already."""

    sighting: str
    observer: str
    value: float
    since: float
    had: tuple[int, ...]


def due(survey: Survey, limit: int) -> list[str]:
    """Sightings that something changed about, and those they came from or became."""
    rows = survey.connection.execute("select sighting from queue_due limit ?", (limit,))
    return sightings.with_kin(survey, [row[0] for row in rows])


def make_due(survey: Survey, wanted: Iterable[str]) -> None:
    """Have these sightings placed anew."""
    survey.connection.executemany(
        "insert or ignore into queue_due values (?)", [(one,) for one in wanted]
    )


def make_all_due(survey: Survey) -> None:
    """Have every sighting placed anew, because the rules changed."""
    survey.connection.execute(
        "insert or ignore into queue_due select identifier from sightings"
        " union select sighting from queue_order"
    )


def replace(survey: Survey, placed: Collection[str], waiting: Iterable[Kept]) -> None:
    """Put these waiting sightings in the place of what was kept of these."""
    for sighting in placed:
        survey.connection.execute("delete from queue_order where sighting = ?", (sighting,))
        survey.connection.execute("delete from queue_due where sighting = ?", (sighting,))
    for one in waiting:
        insert(
            survey,
            "queue_order",
            {
                "sighting": one.sighting,
                "observer": one.observer,
                "value": one.value,
                "since": one.since,
                "had": json.dumps(one.had),
            },
        )


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


def rules_noted(survey: Survey) -> str:
    """The rules that the places stand by, or nothing."""
    row = survey.connection.execute("select rules from queue_rules").fetchone()
    return row[0] if row else ""


def note_rules(survey: Survey, rules: str) -> None:
    """Note the rules that sightings are placed by from now on."""
    survey.connection.execute("delete from queue_rules")
    insert(survey, "queue_rules", {"rules": rules})
