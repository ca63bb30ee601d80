"""Note which browser looks at which sighting, so that no two determine one at once."""

from __future__ import annotations

from datetime import datetime

from triage.store.actions import utc_text
from triage.store.connection import Survey
from triage.store.rows import column_of


def take(survey: Survey, sighting: str, holder: str, *, now: datetime, until: datetime) -> bool:
    """Hold a sighting for a browser, or hold it longer; false if another holds it."""
    cursor = survey.connection.execute(
        "insert into leases (sighting, holder, until) values (?, ?, ?)"
        " on conflict (sighting) do update set holder = excluded.holder, until = excluded.until"
        " where holder = excluded.holder or until <= ?",
        (sighting, holder, utc_text(until), utc_text(now)),
    )
    return cursor.rowcount > 0


def held_by_others(survey: Survey, holder: str, *, now: datetime) -> set[str]:
    """Sightings that other browsers hold now."""
    return set(
        column_of(
            survey,
            "select sighting from leases where holder <> ? and until > ?",
            (holder, utc_text(now)),
        )
    )


def let_go(survey: Survey, holder: str, *, keep: frozenset[str] = frozenset()) -> None:
    """Hold nothing for this browser any longer but what it says."""
    held = survey.connection.execute("select sighting from leases where holder = ?", (holder,))
    for (sighting,) in held.fetchall():
        if sighting not in keep:
            survey.connection.execute("delete from leases where sighting = ?", (sighting,))
