"""Load where a survey stands: counts, failures, its backup, what must be decided of records."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from triage.checklist import Checklist, read_name
from triage.inbox import EARLIEST_PHOTO, RecordNeed, needs_of_records
from triage.pipeline import consents, queueing
from triage.pipeline.backup import REMINDED_AFTER
from triage.pipeline.tables import latest_day, unresolved_lots
from triage.store import audit, backups, evidence, failures, joins, overview, people
from triage.store.connection import Survey
from triage.store.failures import Failure
from triage.store.overview import Holdings


@dataclass(frozen=True, slots=True, kw_only=True)
class Overview:
    """The state of everything.

    ``waiting`` sightings are in the queue, ``waiting_for_you`` without those that the determiner
    who asks has had.
    """

    holdings: Holdings
    waiting: int
    waiting_for_you: int
    failures: tuple[Failure, ...]
    needs: tuple[RecordNeed, ...]
    backed_up: datetime | None
    backup_due: bool


def overview_of(survey: Survey, *, now: datetime, for_determiner: str = "") -> Overview:
    """Where the survey stands at this moment."""
    newest = backups.newest(survey)
    return Overview(
        holdings=overview.holdings(survey),
        failures=tuple(failures.every(survey)),
        waiting=queueing.count_waiting(survey, now=now),
        waiting_for_you=queueing.count_waiting(survey, now=now, for_determiner=for_determiner),
        needs=tuple(record_needs(survey, now=now)),
        backed_up=newest,
        backup_due=newest is None or now - newest > REMINDED_AFTER,
    )


def record_needs(survey: Survey, *, now: datetime) -> list[RecordNeed]:
    """Grants not seen, unresolved names, people who may be one person, impossible years."""
    latest = latest_day(now)
    everybody = people.all_people(survey)
    unresolved = unresolved_lots(survey)
    return needs_of_records(
        unresolved=unresolved,
        nearest=_nearest(survey, {one.value for one in unresolved}),
        grants=[(one.code, " / ".join(one.unseen)) for one in everybody if one.unseen],
        unclear=[(one.code, " / ".join(one.unclear)) for one in everybody if one.unclear],
        photographers=consents.waiting(survey),
        people=[(person.code, person.name) for person in everybody],
        apart=joins.told_apart(survey),
        dated=audit.dated_outside(survey, str(EARLIEST_PHOTO), latest.isoformat()),
        latest=latest,
    )


def _nearest(survey: Survey, written: set[str]) -> dict[str, tuple[str, ...]]:
    checklist = evidence.checklist(survey) if written else Checklist(())
    return {name: read_name(name, checklist).near for name in written}
