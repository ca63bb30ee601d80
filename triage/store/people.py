"""Keep people under a code: their addresses, names and what they consented to."""

from __future__ import annotations

import re
import secrets
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from triage.determinations.determiners import (
    KnownPerson,
    ask_about,
    recognise,
    refuse_no_person,
)
from triage.errors import UnknownError
from triage.mail.automatic import DAEMONS, UNREAD
from triage.mail.consent_standing import StandingConsent
from triage.standards.groups import in_groups
from triage.store import consents, forgetting, joins, leavings
from triage.store.actions import utc_text
from triage.store.connection import Survey
from triage.store.history import Change, save_rows
from triage.store.rows import derived_or_holds, holds, record_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """One person. ``name_public`` is true only after an explicit yes.

    ``unseen`` are the words of grants that nobody of the survey has seen: they do not count yet.
    ``unclear`` are words with a condition or a limit, which nobody has decided.
    """

    row: int
    code: str
    name: str
    orcid: str
    addresses: tuple[str, ...]
    publish: str
    name_public: bool
    licence: str
    unseen: tuple[str, ...] = ()
    unclear: tuple[str, ...] = ()


def by_address(survey: Survey, address: str, *, name: str = "") -> int | None:
    """The person with this address, made if new; None for an empty address."""
    key = address.strip().casefold()
    if not key:
        return None
    person = survey.first("select person_id from addresses where address = ?", key)
    if person is not None:
        query = "update people set name = ? where id = ? and name = '' and forgotten_at is null"
        survey.run(query, name, person)
        return int(person)
    person = add(survey, name)
    survey.insert("addresses", {"address": key, "person_id": person})
    return person


def known(survey: Survey) -> list[KnownPerson]:
    """Everybody listed who was not forgotten, under every form in which they may be typed."""
    addresses = _by_person(survey, "address", "addresses")
    shorts = _by_person(survey, "short", "short_names")
    joined = joins.names_joined(survey)  # whoever was joined may still be typed so
    return [
        record_of(
            KnownPerson,
            row,
            short_names=(*shorts.get(row["row"], ()), *joined.get(row["row"], ())),
            addresses=tuple(addresses.get(row["row"], ())),
        )
        for row in survey.run(f"{_SELECT} where forgotten_at is null and {_LISTED} order by id")
    ]


def determiner(survey: Survey, typed: str, *, new: bool = False) -> KnownPerson:
    """The person of the survey whom a name means; with ``new`` somebody not known yet is added.

    Raises
    ------
    UnknownError
        If nobody is called so and ``new`` is not given, or several are; or several are named.
    """
    return added(survey, meant(known(survey), typed, new=new))


def meant(everybody: Sequence[KnownPerson], typed: str, *, new: bool = False) -> KnownPerson:
    """The one of these whom a name means; with ``new`` perhaps somebody to be ``added`` still.

    Whoever is to be added has a code, and no row.

    Raises
    ------
    UnknownError
        If nobody is called so and ``new`` is not given, or several are; or several are named.
    """
    found = recognise(typed, everybody)
    if found is not None:
        return found
    name = " ".join(typed.split())
    if not new:
        raise ask_about(typed, everybody)
    refuse_no_person(name)
    return KnownPerson(row=0, code=_code(), name=name)


def added(survey: Survey, person: KnownPerson) -> KnownPerson:
    """A person with their row; to be asked for where something of them is written, not before."""
    if person.row:
        return person
    again = f"select id from people where name = ? and not ({_LISTED})"
    row = survey.first(again, person.name) or add(survey, person.name, code=person.code)
    return replace(person, row=row, code=codes(survey, [row])[row])


_SELECT = "select *, id as row from people"
_SAID = " union all ".join(
    f"select person_id, action_id from {table}"
    for table in ("determinations", "photographers", "packets", "consents", "told_apart")
)
_HERE = (
    "(id in (select person_id from addresses union all select person_id from short_names)"
    f" or not exists (select 1 from ({_SAID}) where person_id = people.id)"
    f" or exists (select 1 from ({_SAID}) s where s.person_id = people.id"
    f" and {derived_or_holds('s.action_id')}))"
)
"""The condition that a person is one of the survey: no action that added them was taken back."""

# Any one sign may stand for the hyphen, and more behind the words: "no_reply+12@".
_UNREAD = " or ".join(f"address like '{o.replace('-', '_')}%@%'" for o in (*DAEMONS, *UNREAD))
_LISTED = (
    f"{_HERE} and (id in (select person_id from short_names)"
    " or not exists (select 1 from envelopes where person_id = people.id)"
    " or exists (select 1 from envelopes e join messages m on m.id = e.message_id"
    "  where e.person_id = people.id and (m.automatic = ''"
    f"   and (people.id not in (select person_id from addresses where {_UNREAD})"
    f"    or people.id in (select person_id from addresses where not ({_UNREAD})))"
    "   or exists (select 1 from parts where message_id = m.id and outcome = 'taken in')))"
    " or name <> '' and name in (select recorded_by from visits)"
    f" or exists (select 1 from ({_SAID}) s where s.person_id = people.id"
    f" and {holds('s.action_id')}))"
)
"""The condition that one of them is listed and asked about: not known by automatic mail alone."""


def _by_person(survey: Survey, word: str, table: str) -> dict[int, list[str]]:
    """The addresses, or the short names, of each person, in order."""
    rows = survey.run(f"select person_id, {word} from {table} order by {word}")
    return in_groups((row[0], row[1]) for row in rows)


def add(survey: Survey, name: str, *, code: str = "") -> int:
    """Add a person of this name, under a code that is drawn."""
    return survey.insert("people", {"code": code or _code(), "name": name})


def _code() -> str:
    # The code is drawn, not derived: a digest of an address could be turned back by guessing.
    return "P-" + secrets.token_hex(4).upper()


def add_short_name(survey: Survey, short: str, person: int) -> list[Change]:
    """Let a short name stand for a person; returns what changed."""
    return save_rows(survey, "short_names", ["short"], [{"short": short, "person_id": person}])


def listed(survey: Survey) -> list[Person]:
    """Everybody but those of whom only machines have written: bounces, answers of absence."""
    wanted = set(survey.column(f"select id from people where {_LISTED}"))
    return [person for person in all_people(survey) if person.row in wanted]


def all_people(survey: Survey) -> list[Person]:
    """Everybody, with what stands of their consents."""
    addresses = _by_person(survey, "address", "addresses")
    standing = consents.standing(survey)
    everybody = [
        (row, standing.get(row["row"], StandingConsent()))
        for row in survey.run(f"{_SELECT} where {_HERE} order by id")
    ]
    return [
        record_of(
            Person,
            row,
            addresses=tuple(addresses.get(row["row"], ())),
            publish=consent.publish,
            name_public=consent.name_shown == "yes",
            licence=consent.licence,
            unseen=consent.unseen,
            unclear=consent.unclear,
        )
        for row, consent in everybody
    ]


def codes(survey: Survey, rows: Collection[int] | None = None) -> dict[int, str]:
    """The codes of everybody, or of these rows."""
    query = "select id, code from people"
    if rows is None:
        return dict(survey.run(query))
    return dict(survey.run_in(f"{query} where id in (...)", rows))


def names(survey: Survey) -> dict[str, str]:
    """The name of everybody by their code, empty where it is not known."""
    return dict(survey.run("select code, name from people"))


_CODE = re.compile(r"\bP-[0-9A-F]{8}\b")  # as ``_code`` draws them


def with_names(survey: Survey, *texts: str) -> list[str]:
    """Texts with people's names for their codes, joined ones too, as far as they have one."""
    wanted = _CODE.findall(" ".join(texts))
    joined = "select gone_code, gone_name from joins where gone_name <> '' and gone_code in (...)"
    query = "select code, name from people where name <> '' and code in (...)"
    names = dict(survey.run_in(joined, wanted)) | dict(survey.run_in(query, wanted))
    return [_CODE.sub(lambda one: names.get(one[0], one[0]), text) for text in texts]


def find(survey: Survey, address_or_code: str) -> Person:
    """The person with this address or code.

    Raises
    ------
    UnknownError
        If nobody has it.
    """
    wanted = address_or_code.strip().casefold()
    for person in all_people(survey):
        if wanted in person.addresses or wanted == person.code.casefold():
            return person
    raise UnknownError(
        "nobody here is known by that address or code",
        failing=address_or_code,
        next_step="See 'triage people' for the codes.",
    )


def mails_of(survey: Survey, person: int) -> list[int]:
    """Rows of the messages in which a person speaks, sent or passed on by others."""
    return survey.column(
        "select id from messages where sender_id = ?1 union"
        " select message_id from envelopes where person_id = ?1",
        person,
    )


def names_of(survey: Survey, person: Person) -> list[str]:
    """The name of a person, and of everybody who was joined into them."""
    joined = joins.names_joined(survey).get(person.row, [])
    return list(dict.fromkeys(filter(None, (person.name, *joined))))


def forget(survey: Survey, person: Person, *, now: datetime) -> None:
    """Remove a person's name, addresses and mail, also where others forwarded it.

    Photos and records stay under the code. Mails in which the person speaks lose what they wrote;
    name and addresses are replaced by the code wherever else they stand, in words that others
    wrote too. What lies on the disk is the caller's to delete (``leavings``).
    """
    names = names_of(survey, person)
    leavings.empty(survey, person.row, mails_of(survey, person.row))
    survey.run("delete from addresses where person_id = ?", person.row)
    _forget_short_names(survey, person)
    joins.forget(survey, person.row)
    gone = {"name": "", "orcid": "", "forgotten_at": utc_text(now)}
    survey.update("people", gone, id=person.row)
    survey.run("update consents set wording = '' where person_id = ?", person.row)
    forgetting.blacken(survey, names, person.addresses, code=person.code)


_OF_SHORT_NAMES = (
    "table_name = 'short_names' and ? in (json_extract(nullif(row_before, ''), '$.person_id'),"
    " json_extract(nullif(row_after, ''), '$.person_id'))"
)


def _forget_short_names(survey: Survey, person: Person) -> None:
    """Delete them, and what the log and the history of tables say of them."""
    survey.run("delete from short_names where person_id = ?", person.row)
    said = f"id in (select action_id from row_history where {_OF_SHORT_NAMES})"
    what = f"{person.code} was given a short name"
    survey.run(f"update actions set summary = ? where {said}", what, person.row)
    gone = "row_key = '{}', row_before = '', row_after = ''"
    survey.run(f"update row_history set {gone} where {_OF_SHORT_NAMES}", person.row)


def scrub(survey: Survey) -> bool:
    """Rewrite the database file, so that nothing deleted is left between its rows.

    Tells whether that is so: another program that is just reading keeps the old file alive.
    """
    survey.run("vacuum")
    return not survey.first("pragma wal_checkpoint(truncate)")
