"""Find references that lead nowhere, and parts of mail without account."""

from __future__ import annotations

import json
from collections.abc import Collection
from pathlib import Path

from triage.inbox import Dated
from triage.sightings import sighting_identifier
from triage.standards.groups import in_groups
from triage.store import overview, sightings, tallies
from triage.store.connection import Survey


def kept_digests(survey: Survey) -> dict[Path, dict[str, str]]:
    """By folder: digests of every part and every raw mail that was kept, each with its message.

    Loose files have no raw mail of their own.
    """
    parts = survey.run(
        "select p.sha256, 'message ' || substr(m.identifier, 1, 12) || ' part ' || p.path"
        " from parts p join messages m on m.id = p.message_id"
        " where p.sha256 is not null order by p.id desc"
    )
    raw = survey.run(
        "select m.raw_sha256, 'message ' || substr(m.identifier, 1, 12) from messages m"
        " where m.origin <> 'forgotten' and not exists"
        " (select 1 from parts p where p.message_id = m.id and p.sha256 = m.raw_sha256)"
    )
    return {survey.originals: dict(parts), survey.messages: dict(raw)}


def raw_of_parts(survey: Survey, digests: Collection[str]) -> list[str]:
    """Digests of the raw mails that brought these files."""
    query = (
        "select distinct m.raw_sha256 from parts p join messages m on m.id = p.message_id"
        " where p.sha256 in (...) and m.origin <> 'forgotten'"
    )
    return sorted(survey.column_in(query, digests))


def digests_of(survey: Survey, identifier: str) -> set[str]:
    """Digests of all that is to be kept of one message, its raw mail too unless it is forgotten."""
    query = (
        "select raw_sha256 from messages where identifier = ?1 and origin <> 'forgotten' union"
        " select p.sha256 from parts p join messages m on m.id = p.message_id"
        " where m.identifier = ?1 and p.sha256 is not null"
    )
    return set(survey.column(query, identifier))


_UNMEASURED = (
    "select sha256 from photos f where examined_with <> '' and problem = '' and not exists"
    " (select 1 from measurements where photo = f.sha256) order by sha256"
)
_BROKEN = {  # by query: what it means that it finds a row
    "pragma foreign_key_check": "{} row {} names a missing {}",
    "select * from pragma_integrity_check where integrity_check <> 'ok'": "{}",
    "select p.sha256, m.identifier from parts p join messages m on m.id = p.message_id"
    " where p.outcome in ('taken in', 'kept, not examined') and p.sha256 is not null"
    " and not exists (select 1 from photos where sha256 = p.sha256)": (
        "the photo {:.12} of message {:.12} has no row of its own"
    ),
    _UNMEASURED: "the measurement of photo {:.12} is missing; restore it from a backup",
    "select code from people p where forgotten_at is null"
    " and exists (select 1 from envelopes where person_id = p.id)"
    " and not exists (select 1 from addresses where person_id = p.id)": (
        "no address of {} is left; restore it from a backup"
    ),
    "select identifier from known_sightings s where not exists"
    " (select 1 from sighting_photos p where p.sighting_id = s.id)": "sighting {} holds no photo",
}


def broken_references(survey: Survey) -> list[str]:
    """Rows that name something which is not there, and damage that SQLite itself finds."""
    found = [
        f"database: {words.format(*row)}"
        for query, words in _BROKEN.items()
        for row in survey.run(query)
    ]
    found += tallies.losses(survey.connection) + overview.miscounted(survey)
    found += _not_as_imported(survey) + _other_photos(survey)
    return found + [
        f"database: sighting {identifier} was named and is no longer fixed;"
        " 'triage repair' mends it"
        for identifier in sightings.unfixed(survey)
    ]


def without_measurement(survey: Survey) -> list[str]:
    """Photos that were examined and whose measurement is gone, by digest."""
    return survey.column(_UNMEASURED)


def _other_photos(survey: Survey) -> list[str]:
    """Sightings that do not hold the photos which their identifiers were made of."""
    rows = survey.run(
        "select s.identifier, s.frozen_at is not null, p.photo, p.animal from sightings s"
        " join sighting_photos p on p.sighting_id = s.id where p.action_id is null"
    )
    holds = in_groups(((row[0], row[1]), (row[2], row[3])) for row in rows)
    return [
        f"database: sighting {identifier} has lost a photo, or holds another one; "
        + ("restore it from a backup" if fixed else "'triage repair' groups its photos again")
        for (identifier, fixed), members in sorted(holds.items())
        if sighting_identifier(members) != identifier
    ]


def _not_as_imported(survey: Survey) -> list[str]:
    """Rows of sites, visits, lots and taxa that are gone, or not as the newest import left them."""
    found = []
    rows = survey.run(
        "select table_name, row_key, row_after from row_history h where action_id in"
        " (select id from live_actions) and id = (select max(id) from row_history n where"
        " n.table_name = h.table_name and n.row_key = h.row_key and n.action_id in"
        " (select id from live_actions))"
    )
    for table, key, after in rows.fetchall():
        if not after:
            continue
        values, wanted = json.loads(key), json.loads(after)
        where = " and ".join(f"{name} is ?" for name in values)
        stands = survey.row(f"select * from {table} where {where}", *values.values())
        named = ", ".join(map(str, values.values()))
        if stands is None:
            found.append(f"database: {table} lack {named}")
            continue
        changed = [name for name, value in dict(stands).items() if value != wanted.get(name, value)]
        if changed:
            found.append(
                f"database: {table}, {named}: {', '.join(changed)} changed by something other than"
                " this program"
            )
    return found


def unaccounted_parts(survey: Survey) -> list[str]:
    """Parts whose outcome and what was kept of them contradict each other."""
    rows = survey.run(
        "select m.identifier, p.path, p.outcome, p.reason from parts p"
        " join messages m on m.id = p.message_id"
        " where ((p.outcome = 'nothing to keep') <> (p.sha256 is null)) or p.reason = ''"
    )
    return [
        f"message {row['identifier'][:12]} part {row['path']}: '{row['outcome']}' with "
        + ("no reason given" if not row["reason"] else "nothing kept, or something kept")
        for row in rows
    ]


def dated_outside(survey: Survey, earliest: str, latest: str) -> list[Dated]:
    """Records that begin before the one day or end after the other, by kind and identifier."""
    first, last = (
        "substr(event_date, 1, 10)",
        "substr(event_date, instr(event_date, '/') + 1, 10)",
    )
    return survey.records(
        Dated,
        "select * from ("
        f" select 'sighting ' || identifier as record, {first} as first_day, {last} as last_day"
        " from known_sightings where superseded_by is null and id in ("  # each from its own index
        f" select id from sightings where event_date <> '' and {first} < ?1"
        f" union select id from sightings where event_date <> '' and {last} > ?2)"
        " union all select 'visit ' || event_id, first_day, last_day from visits"
        " union all select 'lot ' || catalog_number, first_day, last_day from lots"
        " where first_day <> ''"
        " union all select 'lot ' || catalog_number || ', dateIdentified', date_identified,"
        " date_identified from lots where date_identified <> ''"
        " union all select 'measurement at ' || location_id, measured_on, measured_on"
        " from site_measurements"
        ") where first_day < ?1 or last_day > ?2 order by record",
        earliest,
        latest,
    )
