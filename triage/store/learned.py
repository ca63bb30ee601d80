"""Keep what a survey's own corrections taught: heads and models of usability."""

from __future__ import annotations

from triage.store.connection import Survey
from triage.store.rows import holds


def add_learned(survey: Survey, kind: str, content: bytes, report: str, *, action: int) -> None:
    """Append what was learned from this survey (heads or usability), with its figures."""
    values = {"kind": kind, "content": content, "report": report, "action_id": action}
    survey.insert("learned", values)


def newest_learned(survey: Survey, kind: str) -> bytes | None:
    """The newest of its kind that was not taken back."""
    query = f"select content from learned where kind = ? and {holds()} order by id desc"
    found: bytes | None = survey.first(query, kind)
    return found
