"""Load what must be decided of records rather than of messages: names, people, impossible years."""

from __future__ import annotations

from datetime import datetime

from triage.inbox import EARLIEST_PHOTO, RecordNeed, needs_of_records
from triage.pipeline.tables import latest_day, unresolved_lots
from triage.store import audit, people
from triage.store.connection import Survey


def record_needs(survey: Survey, *, now: datetime) -> list[RecordNeed]:
    """Unresolved names of lots, people who may be one person, and records of impossible years."""
    latest = latest_day(now)
    return needs_of_records(
        unresolved=unresolved_lots(survey),
        names=[person.name for person in people.all_people(survey)],
        dated=audit.dated_outside(survey, str(EARLIEST_PHOTO), latest.isoformat()),
        latest=latest,
    )
