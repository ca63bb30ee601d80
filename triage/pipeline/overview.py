"""Load where a survey stands: counts, failures, its backup, what must be decided of records."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from triage.checklist import Checklist, read_name
from triage.errors import UnknownError
from triage.inbox import EARLIEST_PHOTO, RecordNeed, needs_of_records
from triage.pipeline import consents, persons, queueing
from triage.pipeline.backup import REMINDED_AFTER
from triage.pipeline.tables import latest_day, unresolved_lots
from triage.store import audit, backups, evidence, failures, overview, people
from triage.store.connection import Survey
from triage.store.failures import Failure
from triage.store.overview import Holdings


@dataclass(frozen=True, slots=True, kw_only=True)
class Overview:
    """The state of everything."""

    holdings: Holdings
    failures: tuple[Failure, ...]
    needs: tuple[RecordNeed, ...]
    backed_up: datetime | None
    backup_due: bool


def overview_of(survey: Survey, *, now: datetime) -> Overview:
    """Where the survey stands at this moment."""
    newest = backups.newest(survey)
    queueing.bring_up_to_date(survey, now=now)  # or those named since would still be counted
    return Overview(
        holdings=overview.holdings(survey),
        failures=tuple(failures.every(survey)),
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
        photographers=consents.waiting(survey),
        names=[person.name for person in everybody],
        dated=audit.dated_outside(survey, str(EARLIEST_PHOTO), latest.isoformat()),
        latest=latest,
    )


def _nearest(survey: Survey, written: set[str]) -> dict[str, tuple[str, ...]]:
    checklist = evidence.checklist(survey) if written else Checklist(())
    return {name: read_name(name, checklist).near for name in written}


def join_names(survey: Survey, first: str, second: str, *, by: str, now: datetime) -> None:
    """Say that the people of these two names are one person.

    Raises
    ------
    UnknownError
        If nobody, or several people, or somebody without an address bears one of the names.
    """
    persons.join(survey, *(_address_of(survey, name) for name in (first, second)), by=by, now=now)


def _address_of(survey: Survey, name: str) -> str:
    bearers = [one for one in people.all_people(survey) if one.name == name and one.addresses]
    if len(bearers) != 1:
        raise UnknownError(
            "not exactly one person with a mail address bears that name",
            failing=name,
            next_step="Join them by their addresses: 'triage people --same ADDRESS ADDRESS'.",
        )
    return bearers[0].addresses[0]
