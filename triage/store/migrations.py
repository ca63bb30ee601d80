"""Bring an empty or older survey.db to the newest schema, by the files of SQL in schema/ in order.

The list is append-only: a released file is never edited. Times are UTC ISO 8601 text, days are ISO
days; digests and hashes are hexadecimal text; lists are JSON text. Rows that a person caused carry
``action_id`` and are taken back by a newer action that names theirs in ``undoes``; nothing of the
kind is ever updated or deleted. Tables marked "derived" are functions of the rest and may be
computed anew.
"""

from __future__ import annotations

import sqlite3
from pathlib import Path

from triage.errors import SurveyError

SCHEMA = Path(__file__).with_name("schema")


def names() -> list[str]:
    """Every migration, in the order in which they are applied."""
    return sorted(path.stem for path in SCHEMA.glob("m*.sql"))


def apply(connection: sqlite3.Connection) -> None:
    """Apply what is pending, each migration as a whole or not at all.

    Raises
    ------
    SurveyError
        If the survey has migrations that this version does not know.
    """
    before, known = applied(connection), names()
    if before == set(known):
        return
    if not before <= set(known):
        raise SurveyError(
            "this survey was made by a newer version",
            failing=", ".join(sorted(before - set(known))),
            next_step="Update the program, then try again.",
        )
    # Late, since most commands find nothing to do.
    from sqlite_utils import Database
    from sqlite_utils.migrations import Migrations

    migrations = Migrations("triage")
    for name in known:

        @migrations(name=name)
        def run(db: Database, name: str = name) -> None:
            db.executescript((SCHEMA / f"{name}.sql").read_text(encoding="utf-8"))

    factory = connection.row_factory
    connection.row_factory = None
    migrations.apply(Database(connection))
    connection.row_factory = factory


def applied(connection: sqlite3.Connection) -> set[str]:
    """The migrations that a database has."""
    found = connection.execute(
        "select 1 from sqlite_master where name = '_sqlite_migrations'"
    ).fetchone()
    if not found:
        return set()
    rows = connection.execute(
        "select name from _sqlite_migrations where migration_set = 'triage'"
    ).fetchall()
    return {row[0] for row in rows}
