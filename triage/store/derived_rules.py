"""Keep by which rules a derived table was made, so that other rules make it anew."""

from __future__ import annotations

from triage.store.connection import Survey
from triage.store.rows import insert


def noted(survey: Survey, table: str) -> str:
    """What all rows of a derived table stand by, or nothing."""
    row = survey.connection.execute(
        "select rules from derived_rules where name = ?", (table,)
    ).fetchone()
    return row[0] if row else ""


def note(survey: Survey, table: str, rules: str) -> None:
    """Note what all rows of a derived table stand by from now on."""
    insert(survey, "derived_rules", {"name": table, "rules": rules}, replace=True)
