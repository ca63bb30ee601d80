"""Deletes what the survey holds of photos whose person is forgotten and wants them gone."""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence

from triage.store import backups, tallies
from triage.store.actions import utc_text
from triage.store.connection import Survey
from triage.store.photos import SENDER, SENT_PARTS

FORGOTTEN = "its person was forgotten"


def whole_ownership(survey: Survey, person: int, photos: Collection[str]) -> list[str]:
    """Those of these photos that are in nobody else's mail."""
    others = survey.column_in(
        f"select p.sha256 from {SENT_PARTS} where {SENDER} is not {person:d} and p.sha256 in (...)",
        photos,
    )
    return sorted(set(photos) - others)


def drop(survey: Survey, photos: Collection[str]) -> None:
    """Delete what was read and measured of photos; an empty row stays, that records name.

    What people of the survey said of them is not the person's, and stays.
    """
    for table in tallies.SAID:
        query = f"delete from {table} where action_id is null and photo in (...) returning 1"
        tallies.note_read(survey.connection, table, -len(survey.run_in(query, photos)))
    for column in (
        "measurements where photo",
        "photo_links where first",
        "photo_links where second",
    ):
        survey.run_in(f"delete from {column} in (...)", photos)
    survey.run_in(
        "update photos set width = 0, height = 0, orientation = null, byte_size = 0,"
        " phash = '', content_phash = '', local_features = x'', exif = '{}', problem = ?"
        " where sha256 in (...)",
        photos,
        FORGOTTEN,
    )
    survey.run_in(
        "update parts set sha256 = null, outcome = 'nothing to keep', file_name = '',"
        " reason = ? where sha256 in (...)",
        photos,
        FORGOTTEN,
    )


def dropped(survey: Survey) -> list[str]:
    """Photos that were dropped: no file of theirs may lie in the survey."""
    query = "select sha256 from photos where problem <> '' and problem = ?"  # as its index has it
    return survey.column(query, FORGOTTEN)


def since_backup(survey: Survey) -> int:
    """How many people were forgotten since the newest backup was made: it still holds them."""
    newest = backups.newest(survey)
    if newest is None:
        return 0
    return survey.count("people where forgotten_at >= ?", utc_text(newest))


# Names of rows and files: never words.
_KEYS = ("sha256", "identifier", "photo", "first", "second", "location_id", "event_id", "code")


def spellings(name: str, addresses: Sequence[str]) -> list[str]:
    """The addresses, and the name in both orders; a name of one word may be a word, or another's.

    >>> spellings("Ada Finch", ["ada@example.org"])
    ['ada@example.org', 'Ada Finch', 'Finch Ada', 'Finch, Ada']
    """
    words = name.split()
    if len(words) < 2:
        return list(addresses)
    first, last = " ".join(words[:-1]), words[-1]
    return [*addresses, name, f"{last} {first}", f"{last}, {first}"]


def blacken(survey: Survey, name: str, addresses: Sequence[str], *, code: str) -> None:
    """Put the code in the place of name and addresses in every text that the survey keeps.

    A name of one word is left where it stands alone: it may be a word, or another person's.
    """
    needles = spellings(name, addresses)
    if needles:
        pattern = _pattern(needles)
        survey.connection.create_function("without_person", 1, lambda t: pattern.sub(code, t))
        for table, column in _texts(survey):
            survey.run(
                f"update {table} set {column} = without_person({column})"
                f" where {_naming(survey, needles)}({column})"
            )
    if name and len(name.split()) == 1:
        for table, column in (("actions", "by_name"), ("visits", "recorded_by")):
            survey.run(f"update {table} set {column} = ? where {column} = ?", code, name)


def mails_of_others(survey: Survey, needles: Sequence[str], mails: Collection[int]) -> int:
    """Mails but for these in which somebody is named or quoted: their files are not altered."""
    if not needles:
        return 0
    named = f"{_naming(survey, needles)}(subject || ' ' || text || ' ' || quoted_text)"
    told = survey.column(f"select distinct message_id from envelopes where {named}")
    return len(set(told) - set(mails))


def rows_still_naming(survey: Survey, word: str) -> dict[str, int]:
    """In how many rows of each table of typed words a word still stands, as in "given by Z. Q"."""
    naming = _naming(survey, [word])
    found: dict[str, int] = {}
    for table, column in _texts(survey):
        if table in ("sites", "visits", "lots", "determinations", "people", "short_names"):
            found[table] = found.get(table, 0) + survey.count(f"{table} where {naming}({column})")
    return {table: count for table, count in found.items() if count}


def _naming(survey: Survey, needles: Sequence[str]) -> str:
    """A function of the database by name: whether a text holds one of these."""
    pattern = _pattern(needles)
    survey.connection.create_function(
        "names_person", 1, lambda t: int(bool(t and pattern.search(t)))
    )
    return "names_person"


def _pattern(needles: Sequence[str]) -> re.Pattern[str]:
    whole = "|".join(r"\s+".join(map(re.escape, needle.split())) for needle in needles)
    return re.compile(rf"(?<!\w)(?:{whole})(?!\w)", re.IGNORECASE)


def _texts(survey: Survey) -> list[tuple[str, str]]:
    """Every table and column of words."""
    rows = survey.run(
        "select m.name, c.name from sqlite_master m join pragma_table_info(m.name) c"
        " where m.type = 'table' and m.name not like '%sqlite%' and lower(c.type) = 'text'"
    )
    return [(table, column) for table, column in rows if column not in _KEYS]
