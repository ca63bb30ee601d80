"""Keep the digest of what each action said, about what, and how that stood once it was said."""

from __future__ import annotations

from collections.abc import Iterable

from triage.store.connection import Survey
from triage.store.rows import holds


def add(survey: Survey, digest: str, subjects: Iterable[str], *, stands: str, action: int) -> None:
    """Append what an action said, under its digest."""
    survey.insert("statements", {"action_id": action, "digest": digest, "stands": stands})
    for subject in sorted(set(subjects)):
        survey.insert("statement_subjects", {"action_id": action, "subject": subject})


def newest(survey: Survey, digest: str) -> tuple[int, str] | None:
    """The newest action that holds and said this, with how things stood once it was said."""
    row = survey.row(
        "select action_id, stands from statements where digest = ?"
        f" and {holds()} order by action_id desc limit 1",
        digest,
    )
    return (row["action_id"], row["stands"]) if row is not None else None


def subjects_of(survey: Survey, action: int) -> list[str]:
    """What an action spoke of."""
    query = "select subject from statement_subjects where action_id = ? order by subject"
    return survey.column(query, action)


def spoken_of_since(survey: Survey, action: int) -> bool:
    """Whether a later action that holds spoke of anything that this one spoke of."""
    return survey.exists(
        "statement_subjects mine join statement_subjects later"
        " on later.subject = mine.subject and later.action_id > mine.action_id"
        f" where mine.action_id = ? and {holds('later.action_id')}",
        action,
    )
