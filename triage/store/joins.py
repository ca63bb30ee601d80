"""Join two people into one and part them again: every row that changed hands is kept with the join.

What comes in after a join is the joined person's, and stays so when the two are parted.
"""

from __future__ import annotations

import json
import sqlite3
from contextlib import ExitStack

from triage.errors import UnknownError
from triage.store import tallies
from triage.store.connection import Survey
from triage.store.rows import column_of, exists, first_of, holds, insert, update

# By table: the column that says whose a row is, and the one that names the row.
OWNED = (
    ("addresses", "person_id", "address"),
    ("short_names", "person_id", "short"),
    ("messages", "sender_id", "id"),
    ("envelopes", "person_id", "rowid"),
    ("consents", "person_id", "id"),
    ("consents_seen", "person_id", "id"),
    ("letters", "person_id", "id"),
    ("guardian_consents", "person_id", "id"),
    ("photographers", "person_id", "id"),
    ("told_apart", "person_id", "id"),
    ("sightings", "observer_id", "identifier"),
    ("determinations", "person_id", "id"),
    ("packets", "person_id", "packet"),
    ("joins", "kept_id", "id"),
)


def two_people(survey: Survey, keep: str, other: str) -> tuple[int, int] | None:
    """The rows of the two people with these addresses or codes; nothing if they are one already.

    Raises
    ------
    UnknownError
        If either is unknown.
    """
    first, second = (_known(survey, address) for address in (keep, other))
    return None if first == second else (first, second)


def record(survey: Survey, kept: int, gone: int, *, action: int) -> None:
    """Give everything of one person to another under an action, and keep what was whose."""
    before = {row["id"]: row for row in _people(survey, kept, gone)}
    moved = _moved(survey, gone)
    values = {
        "action_id": action,
        "kept_id": kept,
        "kept_name": before[kept]["name"],
        "kept_orcid": before[kept]["orcid"],
        "gone_id": gone,
        "gone_code": before[gone]["code"],
        "gone_name": before[gone]["name"],
        "gone_orcid": before[gone]["orcid"],
        "moved": json.dumps(moved),
    }
    insert(survey, "joins", values)
    _give(survey, moved, giver=gone, taker=kept)
    _fill(survey, kept, before[gone]["name"], before[gone]["orcid"])
    survey.connection.execute("delete from people where id = ?", (gone,))


def tell_apart(survey: Survey, first: int, second: int, *, action: int) -> None:
    """Keep that these are two people: nobody asks again while the action holds."""
    for person in (first, second):
        insert(survey, "told_apart", {"person_id": person, "action_id": action})


def told_apart(survey: Survey) -> set[frozenset[str]]:
    """Every two people, by their codes, of whom it was said that they are two."""
    rows = survey.connection.execute(
        "select min(p.code), max(p.code) from told_apart t join people p on p.id = t.person_id"
        f" where {holds('t.action_id')} group by t.action_id"
    )
    return {frozenset(row) for row in rows}


def names_joined(survey: Survey) -> dict[int, list[str]]:
    """By the row of each person: the names of those who were joined into them."""
    found: dict[int, list[str]] = {}
    query = f"select kept_id, gone_name from joins where gone_name <> '' and {holds()} order by id"
    for row in survey.connection.execute(query):
        found.setdefault(row["kept_id"], []).append(row["gone_name"])
    return found


def part(survey: Survey, action: int) -> set[int]:
    """Take a join back; returns the rows of those who were parted, nobody for another action.

    Raises
    ------
    UnknownError
        If one of the two was forgotten since: then nobody is told apart again.
    """
    found: set[int] = set()
    for row in _of_action(survey, action):
        _refuse_forgotten(row)
        person = {"code": row["gone_code"], "name": row["gone_name"], "orcid": row["gone_orcid"]}
        again = insert(survey, "people", person | _row_if_free(survey, row["gone_id"]))
        _give(survey, json.loads(row["moved"]), giver=row["kept_id"], taker=again)
        kept = {"name": row["kept_name"], "orcid": row["kept_orcid"]}
        update(survey, "people", kept, id=row["kept_id"])
        found |= {row["kept_id"], again}
    return found


def join_again(survey: Survey, action: int) -> set[int]:
    """Let a join hold again that was taken back; returns the row of the person who is left."""
    found: set[int] = set()
    for row in _of_action(survey, action):
        _refuse_forgotten(row)
        gone = survey.connection.execute(
            "select id, name, orcid from people where code = ?", (row["gone_code"],)
        ).fetchone()
        moved = _moved(survey, gone["id"])
        update(survey, "joins", {"moved": json.dumps(moved)}, id=row["id"])
        _give(survey, moved, giver=gone["id"], taker=row["kept_id"])
        _fill(survey, row["kept_id"], gone["name"], gone["orcid"])
        survey.connection.execute("delete from people where id = ?", (gone["id"],))
        found.add(row["kept_id"])
    return found


def forget(survey: Survey, person: int) -> None:
    """Keep no name and no address of those who were joined into a person who is forgotten."""
    survey.connection.execute(
        "update joins set kept_name = '', kept_orcid = '', gone_name = '', gone_orcid = '',"
        " moved = '{}', forgotten = 1 where kept_id = ? or gone_code ="
        " (select code from people where id = ?)",
        (person, person),
    )


def _people(survey: Survey, kept: int, gone: int) -> list[sqlite3.Row]:
    query = "select id, code, name, orcid from people where id in (?, ?)"
    return survey.connection.execute(query, (kept, gone)).fetchall()


def _of_action(survey: Survey, action: int) -> list[sqlite3.Row]:
    query = "select * from joins where action_id = ? order by id"
    return survey.connection.execute(query, (action,)).fetchall()


def _moved(survey: Survey, person: int) -> dict[str, list[str | int]]:
    """By table: the names of the rows that are this person's."""
    found = {}
    for table, owner, key in OWNED:
        query = f"select {key} as key from {table} where {owner} = ? order by 1"
        found[table] = column_of(survey, query, (person,))
    return found


def _give(survey: Survey, moved: dict[str, list[str | int]], *, giver: int, taker: int) -> None:
    """Let these rows be another's, as far as they are the giver's still."""
    with ExitStack() as counted_anew:
        for table in tallies.OWNED:
            if moved.get(table):
                counted_anew.enter_context(tallies.rewriting(survey.connection, table))
        for table, owner, key in OWNED:
            survey.connection.executemany(
                f"update {table} set {owner} = ? where {key} = ? and {owner} = ?",
                [(taker, one, giver) for one in moved.get(table, ())],
            )
    survey.connection.execute(
        "update row_history set row_before = replace(row_before, :old, :new),"
        " row_after = replace(row_after, :old, :new) where table_name = 'short_names'"
        " and json_extract(row_key, '$.short') in (select value from json_each(:shorts))",
        {
            "old": f'"person_id": {giver},',
            "new": f'"person_id": {taker},',
            "shorts": json.dumps(moved.get("short_names", [])),
        },
    )


def _row_if_free(survey: Survey, row: int) -> dict[str, int]:
    return {} if exists(survey, "people where id = ?", (row,)) else {"id": row}


def _fill(survey: Survey, person: int, name: str, orcid: str) -> None:
    """Let a person have a name and an ORCID, where there was none."""
    for column, value in (("name", name), ("orcid", orcid)):
        survey.connection.execute(
            f"update people set {column} = ? where id = ? and {column} = ''", (value, person)
        )


def _refuse_forgotten(row: sqlite3.Row) -> None:
    if row["forgotten"]:
        raise UnknownError(
            "one of the two was forgotten since, and nobody can tell them apart again",
            failing=f"action {row['action_id']}",
            next_step="Nothing was changed.",
        )


def _known(survey: Survey, address: str) -> int:
    row = first_of(
        survey,
        "select person_id from addresses where address = ?1 union"
        " select id from people where lower(code) = ?1 and forgotten_at is null",
        (address.strip().casefold(),),
    )
    if row is None:
        raise UnknownError(
            "no mail came from that address",
            failing=address,
            next_step="See 'triage people' for the addresses and codes.",
        )
    return int(row)
