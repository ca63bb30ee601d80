"""Keep what failed in which stage, until it is mended."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from triage.store.actions import utc_text
from triage.store.connection import Survey
from triage.store.rows import records_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Failure:
    """One thing that failed and still does: in which stage, which thing, why, since when."""

    stage: str
    subject: str
    reason: str
    at: str


def add(survey: Survey, *, stage: str, subject: str, reason: str, now: datetime) -> None:
    """Note that one thing failed in one stage; the newest reason replaces an older one."""
    survey.connection.execute(
        "insert into failures values (?, ?, ?, ?) on conflict (stage, subject)"
        " do update set reason = excluded.reason, at = excluded.at",
        (stage, subject, reason, utc_text(now)),
    )


def clear(survey: Survey, *, stage: str, subject: str) -> None:
    """Forget a failure that was mended."""
    survey.connection.execute(
        "delete from failures where stage = ? and subject = ?", (stage, subject)
    )


def every(survey: Survey) -> list[Failure]:
    """What failed and still does."""
    return records_of(survey, Failure, "select * from failures order by stage, subject")
