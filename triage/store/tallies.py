"""Tables that only grow in; how many rows each has and a running digest of them, kept and compared.

Rows that are lost or changed by something other than this program are noticed so: with every
transaction the new rows join the digest of those before. Only columns that nothing ever rewrites
take part (forgetting a person blackens words, joining two addresses changes who is meant).
"""

from __future__ import annotations

import json
import sqlite3
from dataclasses import asdict, dataclass

from triage.standards.digests import digest_of

GROWING = {
    "actions": "id, at, command, undoes",
    "messages": "id, identifier, raw_sha256",
    "parts": "id, message_id, path, media_type, byte_size",
    "consents": "id, message_id, publish, name_public, licence, action_id",
    "message_states": "id, message_id, state, at, action_id",
    "questions": "id, code, message_id, what, action_id",
    "camera_corrections": "id, message_id, offset_seconds, action_id",
    "corrections": "id, photo, field, value, action_id",
    "sighting_edits": "id, kind, members, action_id",
    "sighting_states": "id, sighting, state, action_id",
    "determinations": "id, identifier, sighting, outcome, scientific_name, taxon_rank, qualifier,"
    " photos, action_id",
    "row_history": "id, action_id, table_name",
    "learned": "id, kind, action_id",
}
_NOTE = "tally of "


@dataclass(frozen=True, slots=True, kw_only=True)
class Tally:
    """How many rows of a table up to ``last`` were counted, and the digest that they give."""

    last: int = 0
    rows: int = 0
    digest: str = ""


def note(connection: sqlite3.Connection) -> None:
    """Count the rows that came since the last time; part of the transaction that wrote them."""
    kept = _kept(connection)
    for table in GROWING:
        before = kept.get(table, Tally())
        newest = connection.execute(f"select max(id) from {table}").fetchone()[0] or 0
        if newest > before.last:
            now = _counted(connection, table, before, newest)
            connection.execute(
                "insert into notes values (?, ?) on conflict (name) do update set"
                " value = excluded.value",
                (_NOTE + table, json.dumps(asdict(now))),
            )


def losses(connection: sqlite3.Connection) -> list[str]:
    """What is missing or changed among the rows that were counted, a line for each table."""
    found = []
    for table, kept in _kept(connection).items():
        now = _counted(connection, table, Tally(), kept.last)
        if now.rows != kept.rows:
            found.append(f"database: {kept.rows - now.rows} of {kept.rows} {table} are missing")
        elif now.digest != kept.digest:
            found.append(f"database: {table} were changed by something other than this program")
    return found


def _kept(connection: sqlite3.Connection) -> dict[str, Tally]:
    rows = connection.execute(
        "select name, value from notes where name between ? and ?", (_NOTE, _NOTE + "~")
    )
    return {row[0].removeprefix(_NOTE): Tally(**json.loads(row[1])) for row in rows}


def _counted(connection: sqlite3.Connection, table: str, before: Tally, last: int) -> Tally:
    digest, rows = before.digest, before.rows
    query = f"select {GROWING[table]} from {table} where id > ? and id <= ? order by id"
    for row in connection.execute(query, (before.last, last)):
        line = json.dumps([digest, *row], ensure_ascii=False).encode("utf-8", "surrogatepass")
        digest, rows = digest_of(line), rows + 1
    return Tally(last=last, rows=rows, digest=digest)
