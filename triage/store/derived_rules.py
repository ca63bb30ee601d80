"""Keep by which rules a table derived of sightings was made, and make parts of it anew."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from triage.store.connection import Survey
from triage.store.rows import insert, insert_all, values_of


def noted(survey: Survey, table: str) -> str:
    """What all rows of a derived table stand by, or nothing."""
    row = survey.connection.execute(
        "select rules from derived_rules where name = ?", (table,)
    ).fetchone()
    return row[0] if row else ""


def note(survey: Survey, table: str, rules: str) -> None:
    """Note what all rows of a derived table stand by from now on."""
    insert(survey, "derived_rules", {"name": table, "rules": rules}, replace=True)


def replace(
    survey: Survey, table: str, sightings: Collection[str], found: Iterable[object]
) -> None:
    """Write the rows of these sightings in place of their earlier ones: they are no longer due."""
    one_each = [(sighting,) for sighting in sightings]
    survey.connection.executemany(f"delete from {table} where sighting = ?", one_each)
    survey.connection.executemany(f"delete from {table}_due where sighting = ?", one_each)
    insert_all(survey, table, map(values_of, found))
