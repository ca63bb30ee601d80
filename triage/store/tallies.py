"""Tables that only grow in; how many rows each has and a running digest of them, kept and compared.

Rows that are lost or changed by something other than this program are noticed so: with every
transaction the new rows join the digest of those before. Only columns that nothing ever rewrites
take part (forgetting a person blackens words), and whose a row is, which only joining two people
rewrites, and counts anew. Of rows
that the program itself replaces, those it read from files and texts, the number alone is kept.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass

from triage.standards.digests import digest_of

GROWING = {  # where a table has no id of its own, SQLite's rowid stands for it
    "actions": "id, at, command, undoes",
    "messages": "id, identifier, raw_sha256",
    "parts": "id, message_id, path, media_type, byte_size",
    "consents": "id, message_id, publish, name_public, licence, action_id, person_id",
    "message_states": "id, message_id, state, at, action_id",
    "envelopes": "message_id, number, sent_at",
    "exports": "sighting, first_exported_at",
    "letters": "id, kind, year, action_id",
    "guardian_consents": "id, given_on, action_id, person_id",
    "packet_answers": "id, packet, number, statement, action_id",
    "time_claims": "id, photo, part_id, source, event_date, action_id",
    "place_claims": "id, photo, part_id, source, decimal_latitude, decimal_longitude, location_id,"
    " action_id",
    "questions": "id, code, message_id, what, action_id",
    "camera_corrections": "id, message_id, offset_seconds, action_id",
    "corrections": "id, photo, field, value, action_id",
    "sighting_edits": "id, kind, members, action_id",
    "sighting_states": "id, sighting, state, action_id",
    "determinations": "id, identifier, sighting, outcome, scientific_name, taxon_rank, qualifier,"
    " photos, action_id, person_id, date_identified, second_opinion",
    "row_history": "id, action_id, table_name",
    "learned": "id, kind, action_id",
    "photographers": "id, photo, action_id, person_id",
    "answers_said": "id, code, message_id, action_id",
}
OWNED = ("determinations", "consents", "guardian_consents", "photographers")
"""Tables whose digest holds whose each row is."""
SAID = {"time_claims": "action_id is not null", "place_claims": "action_id is not null"}
"""Which rows of a table are tallied, where it also has rows that are read from files and texts."""

_NOTE = "tally of "
_READ = "rows read: "


@dataclass(frozen=True, slots=True, kw_only=True)
class Tally:
    """How many rows of a table up to ``last`` were counted, and the digest that they give."""

    last: int = 0
    rows: int = 0
    digest: str = ""


def note(connection: sqlite3.Connection) -> None:
    """Count the rows that came since the last time; part of the transaction that wrote them."""
    kept = _kept(connection)
    for table, newest in connection.execute(_NEWEST).fetchall():
        before = kept.get(table, Tally())
        if newest and newest > before.last:
            _keep(connection, table, _counted(connection, table, before, newest))


def _keep(connection: sqlite3.Connection, table: str, tally: Tally) -> None:
    connection.execute(
        "insert into notes values (?, ?) on conflict (name) do update set value = excluded.value",
        (_NOTE + table, json.dumps(asdict(tally))),
    )


@contextmanager
def rewriting(connection: sqlite3.Connection, table: str) -> Iterator[None]:
    """Count the rows of a table anew after they are rewritten on purpose.

    Where they were changed by something else before, that stays to be noticed.
    """
    kept = _kept(connection).get(table, Tally())
    sound = _counted(connection, table, Tally(), kept.last) == kept
    yield
    if sound and kept.rows:
        _keep(connection, table, _counted(connection, table, Tally(), kept.last))


def _newest(table: str) -> str:
    """The query for the newest row; of the few that are said, by the index that holds only them."""
    if table not in SAID:
        return f"select max(rowid) from {table}"
    return f"select max(+rowid) from {table} indexed by {table}_by_action where {SAID[table]}"


_NEWEST = " union all ".join(f"select '{table}', ({_newest(table)})" for table in GROWING)


def note_read(connection: sqlite3.Connection, table: str, more: int) -> None:
    """Note that there are so many more rows that were read from files and texts, or fewer."""
    changed = connection.execute(
        "update notes set value = json_set(value, '$.rows', json_extract(value, '$.rows') + ?)"
        " where name = ?",
        (more, _NOTE + _READ + table),
    )
    if not changed.rowcount:
        _keep(connection, _READ + table, Tally(rows=_count_read(connection, table)))


def count_read_anew(connection: sqlite3.Connection) -> None:
    """Forget how many rows were read: all of them are about to be read again."""
    for table in SAID:
        connection.execute("delete from notes where name = ?", (_NOTE + _READ + table,))


def _count_read(connection: sqlite3.Connection, table: str) -> int:
    rows = connection.execute(f"select count(*) from {table} where not ({SAID[table]})")
    return int(rows.fetchone()[0])


def losses(connection: sqlite3.Connection) -> list[str]:
    """What is missing or changed among the rows that were counted, a line for each table."""
    found = []
    for name, kept in _kept(connection).items():
        table = name.removeprefix(_READ)
        if table != name:
            missing = kept.rows - _count_read(connection, table)
            if missing:
                found.append(
                    f"database: {table} that were read are {kept.rows - missing} and should be"
                    f" {kept.rows}; 'triage repair' reads them again"
                )
            continue
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
    query = (
        f"select {GROWING[table]} from {table}"
        f" where rowid > ? and rowid <= ? and {SAID.get(table, 'true')} order by rowid"
    )
    for row in connection.execute(query, (before.last, last)):
        line = json.dumps([digest, *row], ensure_ascii=False).encode("utf-8", "surrogatepass")
        digest, rows = digest_of(line), rows + 1
    return Tally(last=last, rows=rows, digest=digest)
