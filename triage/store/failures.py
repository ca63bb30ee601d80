"""Keep what failed in which stage, until it is mended."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from triage.store.actions import utc_text
from triage.store.connection import Survey


@dataclass(frozen=True, slots=True, kw_only=True)
class Failure:
    """One thing that failed and still does: in which stage, which thing, why, since when."""

    stage: str
    subject: str
    reason: str
    at: str


def add(survey: Survey, *, stage: str, subject: str, reason: str, now: datetime) -> None:
    """Note that one thing failed in one stage; the newest reason replaces an older one."""
    values = {"stage": stage, "subject": subject, "reason": reason, "at": utc_text(now)}
    survey.insert("failures", values, replace=True)


def clear(survey: Survey, *, stage: str, subject: str) -> None:
    """Forget a failure that was mended."""
    survey.run("delete from failures where stage = ? and subject = ?", stage, subject)


def every(survey: Survey) -> list[Failure]:
    """What failed and still does."""
    return survey.records(Failure, "select * from failures order by stage, subject")
