"""Load what must be decided of records rather than of messages: names, people, impossible years."""

from __future__ import annotations

from datetime import datetime

from triage.inbox import EARLIEST_PHOTO, RecordNeed, needs_of_records
from triage.pipeline.tables import latest_day, unresolved_lots
from triage.store import audit, people
from triage.store.connection import Survey


def record_needs(survey: Survey, *, now: datetime) -> list[RecordNeed]:
    """Grants not seen, unresolved names, people who may be one person, impossible years."""
    latest = latest_day(now)
    everybody = people.all_people(survey)
    return needs_of_records(
        unresolved=unresolved_lots(survey),
        grants=[(one.code, " / ".join(one.unseen)) for one in everybody if one.unseen],
        names=[person.name for person in everybody],
        dated=audit.dated_outside(survey, str(EARLIEST_PHOTO), latest.isoformat()),
        latest=latest,
    )
