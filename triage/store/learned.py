"""Keep what a survey's own corrections taught: heads and models of usability."""

from __future__ import annotations

from triage.store.connection import Survey


def add_learned(survey: Survey, kind: str, content: bytes, report: str, *, action: int) -> None:
    """Append what was learned from this survey (heads or usability), with its figures."""
    survey.connection.execute(
        "insert into learned (kind, content, report, action_id) values (?, ?, ?, ?)",
        (kind, content, report, action),
    )


def newest_learned(survey: Survey, kind: str) -> bytes | None:
    """The newest of its kind that was not taken back."""
    row = survey.connection.execute(
        "select l.content from learned l join live_actions a on a.id = l.action_id"
        " where l.kind = ? order by l.id desc limit 1",
        (kind,),
    ).fetchone()
    return row[0] if row else None
