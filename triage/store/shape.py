"""Compare what a database is made of with what its migrations make, and put back what can be.

A lost index slows or misleads, a lost trigger stops counting, a changed view answers otherwise: no
row tells of it. Tables are compared by their columns, since versions of SQLite write the changes
of a table into its text each in its own way.
"""

from __future__ import annotations

import re
import sqlite3
from contextlib import closing
from typing import NamedTuple

from triage.standards.groups import in_groups
from triage.store import migrations
from triage.store.connection import Survey
from triage.store.derived_rules import DUE

COMPUTED = frozenset(
    {*DUE, *DUE.values(), "holdings", "photo_links", "photo_groups", "photo_sketches"}
)
"""Tables that can be made empty again: what stands in them is computed anew."""


class Piece(NamedTuple):
    """A table, an index, a view or a trigger of a database."""

    kind: str
    name: str
    table: str
    sql: str

    @property
    def meaning(self) -> str:
        """Its text without what SQLite may write in another way."""
        return re.sub(r'[\s"]+', "", self.sql).casefold()


def odd(survey: Survey) -> list[str]:
    """What is missing or other than this version makes it, a line each."""
    return [
        f"database: the {piece.kind} {piece.name} is {how}; "
        + ("'triage repair' makes it again" if _can_be_made(piece) else "restore it from a backup")
        for piece, how in _differences(survey.connection)
    ]


def put_back(survey: Survey) -> list[str]:
    """Make again what is missing or changed, but for tables of rows; returns what was made."""
    made = []
    with survey.transaction() as connection:
        for piece, _ in _differences(connection):
            if not _can_be_made(piece):
                continue
            if piece.kind != "table":
                connection.execute(f"drop {piece.kind} if exists {piece.name}")
            connection.execute(piece.sql)
            made.append(f"database: the {piece.kind} {piece.name} was made again")
    wrong = survey.run("pragma integrity_check").fetchall()
    if any("index" in row[0] for row in wrong):
        survey.run("reindex")
        made.append("database: the indexes were made again")
    return made


def _can_be_made(piece: Piece) -> bool:
    return piece.kind != "table" or piece.name in COMPUTED


def _differences(connection: sqlite3.Connection) -> list[tuple[Piece, str]]:
    """Pieces that this version makes and that are not there so: tables first, then by name."""
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as made:
        migrations.apply(made)
        wanted, columns = _pieces(made), _columns(made)
    there, stand = _pieces(connection), _columns(connection)
    found = []
    for name, piece in wanted.items():
        if name not in there:
            found.append((piece, "missing"))
        elif piece.kind == "table" and columns[name] - stand[name]:
            lost = ", ".join(sorted(columns[name] - stand[name]))
            found.append((piece, f"without its columns {lost}"))
        elif piece.kind != "table" and piece.meaning != there[name].meaning:
            found.append((piece, "changed"))
    return sorted(found, key=lambda one: (one[0].kind != "table", one[0].name))


def _pieces(connection: sqlite3.Connection) -> dict[str, Piece]:
    rows = connection.execute(
        "select type, name, tbl_name, sql from sqlite_master where sql is not null"
    )
    return {row[1]: Piece(*row) for row in rows}


def _columns(connection: sqlite3.Connection) -> dict[str, set[str]]:
    rows = connection.execute(
        "select m.name, c.name from sqlite_master m join pragma_table_info(m.name) c"
        " where m.type = 'table'"
    )
    found = in_groups((row[0], row[1]) for row in rows)
    return {table: set(columns) for table, columns in found.items()}
