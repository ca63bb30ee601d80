"""Addresses and names in, people under a code out, with what they consented to."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import datetime

from triage.errors import UnknownError
from triage.store.actions import utc_text
from triage.store.connection import Survey


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """One person. ``name_public`` is true only after an explicit yes."""

    row: int
    code: str
    name: str
    orcid: str
    addresses: tuple[str, ...]
    publish: str
    name_public: bool
    licence: str


def by_address(survey: Survey, address: str, *, name: str = "") -> int | None:
    """The person with this address, made if new; None for an empty address."""
    key = address.strip().casefold()
    if not key:
        return None
    row = survey.connection.execute(
        "select person_id from addresses where address = ?", (key,)
    ).fetchone()
    if row is not None:
        survey.connection.execute(
            "update people set name = ? where id = ? and name = '' and forgotten_at is null",
            (name, row[0]),
        )
        return int(row[0])
    person = _insert(survey, name)
    survey.connection.execute(
        "insert into addresses (address, person_id) values (?, ?)", (key, person)
    )
    return person


def by_name(survey: Survey, name: str) -> int:
    """The one person of this name (letter case ignored), made if there is none or several."""
    wanted = " ".join(name.split())
    rows = survey.connection.execute(
        "select p.id, p.name from people p where p.forgotten_at is null and p.name <> ''"
    ).fetchall()
    found = [row["id"] for row in rows if row["name"].casefold() == wanted.casefold()]
    if len(found) == 1:
        return int(found[0])
    known = survey.connection.execute(
        "select p.id from people p where p.name = ? collate nocase and not exists"
        " (select 1 from addresses a where a.person_id = p.id)",
        (wanted,),
    ).fetchone()
    return int(known[0]) if known else _insert(survey, wanted)


def join_addresses(survey: Survey, keep: str, other: str) -> None:
    """Say that two addresses are one person's; everything of the second becomes the first's.

    Raises
    ------
    UnknownError
        If either address is unknown.
    """
    first, second = (_known(survey, address) for address in (keep, other))
    if first == second:
        return
    for statement in (
        "update addresses set person_id = ? where person_id = ?",
        "update messages set sender_id = ? where sender_id = ?",
        "update envelopes set person_id = ? where person_id = ?",
        "update consents set person_id = ? where person_id = ?",
        "update sightings set observer_id = ? where observer_id = ?",
        "update determinations set person_id = ? where person_id = ?",
    ):
        survey.connection.execute(statement, (first, second))
    survey.connection.execute("delete from people where id = ?", (second,))


def add_consent(
    survey: Survey,
    person: int,
    *,
    publish: str,
    name_public: bool,
    licence: str,
    wording: str,
    message: int | None = None,
    action: int | None = None,
) -> None:
    """Append what a person stated about publication, with the words they used."""
    survey.connection.execute(
        "insert into consents (person_id, message_id, publish, name_public, licence, wording,"
        " action_id) values (?, ?, ?, ?, ?, ?, ?)",
        (person, message, publish, int(name_public), licence, wording, action),
    )


def all_people(survey: Survey) -> list[Person]:
    """Everybody, with the newest consent that still holds."""
    addresses: dict[int, list[str]] = {}
    for row in survey.connection.execute("select * from addresses order by address"):
        addresses.setdefault(row["person_id"], []).append(row["address"])
    consents = {
        row["person_id"]: row
        for row in survey.connection.execute(
            "select * from consents where action_id is null or action_id in"
            " (select id from live_actions) order by id"
        )
    }
    people = []
    for row in survey.connection.execute("select * from people order by id"):
        consent = consents.get(row["id"])
        people.append(
            Person(
                row=row["id"],
                code=row["code"],
                name=row["name"],
                orcid=row["orcid"],
                addresses=tuple(addresses.get(row["id"], ())),
                publish=consent["publish"] if consent else "unstated",
                name_public=bool(consent["name_public"]) if consent else False,
                licence=consent["licence"] if consent else "",
            )
        )
    return people


def forget(survey: Survey, address_or_code: str, *, now: datetime) -> tuple[Person, list[str]]:
    """Remove a person's name and addresses and the texts of their mail; records stay by code.

    Returns the person as they were and the digests of the raw mails to delete from the disk.

    Raises
    ------
    UnknownError
        If nobody has that address or code.
    """
    wanted = address_or_code.strip().casefold()
    person = next(
        (
            one
            for one in all_people(survey)
            if wanted in one.addresses or wanted == one.code.casefold()
        ),
        None,
    )
    if person is None:
        raise UnknownError(
            "nobody here has that address or code",
            failing=address_or_code,
            next_step="See 'triage people' for the codes.",
        )
    run = survey.connection.execute
    raws = [
        row[0] for row in run("select raw_sha256 from messages where sender_id = ?", (person.row,))
    ]
    run("delete from addresses where person_id = ?", (person.row,))
    run(
        "update people set name = '', orcid = '', forgotten_at = ? where id = ?",
        (utc_text(now), person.row),
    )
    run("update consents set wording = '' where person_id = ?", (person.row,))
    run(
        "update envelopes set subject = '', text = '', quoted_text = '' where message_id in"
        " (select id from messages where sender_id = ?)",
        (person.row,),
    )
    run(
        "update messages set subject = '', links = '[]', problems = '[]', origin = 'forgotten'"
        " where sender_id = ?",
        (person.row,),
    )
    run(
        "update time_claims set verbatim = '' where part_id in (select p.id from parts p"
        " join messages m on m.id = p.message_id where m.sender_id = ?)",
        (person.row,),
    )
    run(
        "update place_claims set verbatim = '' where part_id in (select p.id from parts p"
        " join messages m on m.id = p.message_id where m.sender_id = ?)",
        (person.row,),
    )
    return person, raws


def _insert(survey: Survey, name: str) -> int:
    # The code is drawn, not derived: a digest of an address could be turned back by guessing.
    code = "P-" + secrets.token_hex(4).upper()
    cursor = survey.connection.execute(
        "insert into people (code, name) values (?, ?)", (code, name)
    )
    return int(cursor.lastrowid or 0)


def _known(survey: Survey, address: str) -> int:
    row = survey.connection.execute(
        "select person_id from addresses where address = ?", (address.strip().casefold(),)
    ).fetchone()
    if row is None:
        raise UnknownError(
            "no mail came from that address",
            failing=address,
            next_step="See 'triage people' for the addresses.",
        )
    return int(row[0])
