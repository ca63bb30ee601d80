"""Load where a survey stands: counts, what failed and why, what hangs on no message, its backup."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from triage.inbox import RecordNeed
from triage.pipeline import queueing
from triage.pipeline.backup import REMINDED_AFTER
from triage.pipeline.record_needs import record_needs
from triage.store import backups, failures, overview
from triage.store.connection import Survey
from triage.store.overview import Holdings


@dataclass(frozen=True, slots=True, kw_only=True)
class Failure:
    """One thing that failed and still does: in which stage, which thing, why, since when."""

    stage: str
    subject: str
    reason: str
    at: str


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
        failures=tuple(
            Failure(stage=r["stage"], subject=r["subject"], reason=r["reason"], at=r["at"])
            for r in failures.every(survey)
        ),
        needs=tuple(record_needs(survey, now=now)),
        backed_up=newest,
        backup_due=newest is None or now - newest > REMINDED_AFTER,
    )
