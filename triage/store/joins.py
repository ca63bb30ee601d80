"""Join two people into one and part them again: every row that changed hands is kept with the join.

What comes in after a join is the joined person's, and stays so when the two are parted.
"""

from __future__ import annotations

import json
import sqlite3
from contextlib import ExitStack

from triage.errors import UnknownError
from triage.standards.groups import in_groups
from triage.store import tallies
from triage.store.connection import Survey
from triage.store.rows import holds

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
    moved = _moved(survey, gone)
    survey.run(
        "insert into joins (action_id, moved, kept_id, kept_name, kept_orcid, gone_id, gone_code,"
        " gone_name, gone_orcid) select ?, ?, k.id, k.name, k.orcid, g.id, g.code, g.name, g.orcid"
        " from people k, people g where k.id = ? and g.id = ?",
        action,
        json.dumps(moved),
        kept,
        gone,
    )
    _give_all(survey, moved, giver=gone, taker=kept)


def tell_apart(survey: Survey, first: int, second: int, *, action: int) -> None:
    """Keep that these are two people: nobody asks again while the action holds."""
    for person in (first, second):
        survey.insert("told_apart", {"person_id": person, "action_id": action})


def told_apart(survey: Survey) -> set[frozenset[str]]:
    """Every two people, by their codes, of whom it was said that they are two."""
    rows = survey.run(
        "select min(p.code), max(p.code) from told_apart t join people p on p.id = t.person_id"
        f" where {holds('t.action_id')} group by t.action_id"
    )
    return {frozenset(row) for row in rows}


def names_joined(survey: Survey) -> dict[int, list[str]]:
    """By the row of each person: the names of those who were joined into them."""
    query = f"select kept_id, gone_name from joins where gone_name <> '' and {holds()} order by id"
    return in_groups((row["kept_id"], row["gone_name"]) for row in survey.run(query))


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
        if not survey.exists("people where id = ?", row["gone_id"]):
            person["id"] = row["gone_id"]
        again = survey.insert("people", person)
        _give(survey, json.loads(row["moved"]), giver=row["kept_id"], taker=again)
        kept = {"name": row["kept_name"], "orcid": row["kept_orcid"]}
        survey.update("people", kept, id=row["kept_id"])
        found |= {row["kept_id"], again}
    return found


def join_again(survey: Survey, action: int) -> set[int]:
    """Let a join hold again that was taken back; returns the row of the person who is left."""
    found: set[int] = set()
    for row in _of_action(survey, action):
        _refuse_forgotten(row)
        gone = survey.first("select id from people where code = ?", row["gone_code"])
        moved = _moved(survey, gone)
        survey.update("joins", {"moved": json.dumps(moved)}, id=row["id"])
        _give_all(survey, moved, giver=gone, taker=row["kept_id"])
        found.add(row["kept_id"])
    return found


def forget(survey: Survey, person: int) -> None:
    """Keep no name and no address of those who were joined into a person who is forgotten."""
    survey.run(
        "update joins set kept_name = '', kept_orcid = '', gone_name = '', gone_orcid = '',"
        " moved = '{}', forgotten = 1 where kept_id = ?1 or gone_code ="
        " (select code from people where id = ?1)",
        person,
    )


def _of_action(survey: Survey, action: int) -> list[sqlite3.Row]:
    return survey.run("select * from joins where action_id = ? order by id", action).fetchall()


def _moved(survey: Survey, person: int) -> dict[str, list[str | int]]:
    """By table: the names of the rows that are this person's."""
    return {
        table: survey.column(f"select {key} from {table} where {owner} = ? order by 1", person)
        for table, owner, key in OWNED
    }


def _give(survey: Survey, moved: dict[str, list[str | int]], *, giver: int, taker: int) -> None:
    """Let these rows be another's, as far as they are the giver's still."""
    with ExitStack() as counted_anew:
        for table in tallies.OWNED:
            if moved.get(table):
                counted_anew.enter_context(tallies.rewriting(survey.connection, table))
        for table, owner, key in OWNED:
            survey.run_each(
                f"update {table} set {owner} = ? where {key} = ? and {owner} = ?",
                [(taker, one, giver) for one in moved.get(table, ())],
            )
    survey.run(
        "update row_history set row_before = replace(row_before, :old, :new),"
        " row_after = replace(row_after, :old, :new) where table_name = 'short_names'"
        " and json_extract(row_key, '$.short') in (select value from json_each(:shorts))",
        {
            "old": f'"person_id": {giver},',
            "new": f'"person_id": {taker},',
            "shorts": json.dumps(moved.get("short_names", [])),
        },
    )


def _give_all(survey: Survey, moved: dict[str, list[str | int]], *, giver: int, taker: int) -> None:
    """Give a person's rows, and name and ORCID where the other has none; the giver is no more."""
    _give(survey, moved, giver=giver, taker=taker)
    for column in ("name", "orcid"):
        survey.run(
            f"update people set {column} = (select {column} from people where id = ?)"
            f" where id = ? and {column} = ''",
            giver,
            taker,
        )
    survey.run("delete from people where id = ?", giver)


def _refuse_forgotten(row: sqlite3.Row) -> None:
    if row["forgotten"]:
        raise UnknownError(
            "one of the two was forgotten since, and nobody can tell them apart again",
            failing=f"action {row['action_id']}",
            next_step="Nothing was changed.",
        )


def _known(survey: Survey, address: str) -> int:
    row = survey.first(
        "select person_id from addresses where address = ?1 union"
        " select id from people where lower(code) = ?1 and forgotten_at is null",
        address.strip().casefold(),
    )
    if row is None:
        raise UnknownError(
            "no mail came from that address",
            failing=address,
            next_step="See 'triage people' for the addresses and codes.",
        )
    return int(row)
