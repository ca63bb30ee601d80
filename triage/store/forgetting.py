"""Deletes what the survey holds of photos whose person is forgotten and wants them gone."""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from functools import partial
from unicodedata import normalize

from triage.standards.letters import any_phrase
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
        " phash = '', content_phash = '', local_features = x'', exif = '{}', problem = ?,"
        " linked_sender = ''"
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


def of_nobody(survey: Survey) -> list[str]:
    """Photos that came as files, without a mail that says whose they are."""
    query = f"select distinct p.sha256 from {SENT_PARTS} where p.outcome = 'taken in'"
    return survey.column(f"{query} and {SENDER} is null order by 1")


def since_backup(survey: Survey) -> int:
    """How many people were forgotten since the newest backup was made: it still holds them."""
    newest = backups.newest(survey)
    if newest is None:
        return 0
    return survey.count("people where forgotten_at >= ?", utc_text(newest))


# Where a whole value is somebody's name.
_NAMED = (
    ("actions", "by_name"),
    ("visits", "recorded_by"),
    ("lots", "recorded_by"),
    ("lots", "identified_by"),
)
# Names of rows and files: never words.
_KEYS = ("sha256", "identifier", "photo", "first", "second", "location_id", "event_id", "code")


def spellings(names: Sequence[str], addresses: Sequence[str]) -> list[str]:
    """The addresses, and names in both orders; one of one word may be a word, or another's.

    Accents are spelt as letters with marks and as letters beside marks.

    >>> spellings(["Ada Finch"], ["ada@example.org"])
    ['ada@example.org', 'Ada Finch', 'Finch Ada', 'Finch, Ada']
    """
    found = list(addresses)
    for name in names:
        words = name.split()
        if len(words) > 1:
            first, last = " ".join(words[:-1]), words[-1]
            found += [name, f"{last} {first}", f"{last}, {first}"]
    forms = (normalize(form, one) for one in found for form in ("NFC", "NFD"))
    return list(dict.fromkeys(forms))


def blacken(survey: Survey, names: Sequence[str], addresses: Sequence[str], *, code: str) -> None:
    """Put the code in the place of names and addresses in every text that the survey keeps.

    A name of one word is left where it stands alone: it may be a word, or another person's. So is
    a name that is another's too, or part of another's.
    """
    needles = spellings(names, addresses)
    if needles:
        pattern = _pattern(survey, needles)
        replaced = partial(pattern.sub, lambda found: found["other"] or code)
        survey.connection.create_function("without_person", 1, replaced)
        for table, column in _texts(survey):
            survey.run(
                f"update {table} set {column} = without_person({column})"
                f" where {_naming(survey, needles)}({column})"
            )
    for name in names:
        if len(name.split()) == 1 and not called_so(survey, name):
            for table, column in _NAMED:
                survey.run(f"update {table} set {column} = ? where {column} = ?", code, name)


def called_so(survey: Survey, name: str) -> list[str]:
    """Codes of those who are listed, not forgotten, and called just so."""
    rows = survey.run("select code, name from people where name <> '' and forgotten_at is null")
    return [row["code"] for row in rows if _plain(row["name"]) == _plain(name)]


def mails_of_others(
    survey: Survey, person: int, needles: Sequence[str], mails: Collection[int]
) -> set[str]:
    """Raw mails but for these in which a person is named or quoted: they are not altered."""
    if not needles:
        return set()
    named = f"{_naming(survey, needles, person)}(subject || ' ' || text || ' ' || quoted_text)"
    told = survey.column(f"select distinct message_id from envelopes where {named}")
    query = "select raw_sha256 from messages where id in (...)"
    return survey.column_in(query, set(told) - set(mails))


def rows_still_naming(survey: Survey, word: str) -> dict[str, int]:
    """In how many rows of each table of typed words a word still stands, as in "given by Z. Q"."""
    naming = _naming(survey, [word])
    found: dict[str, int] = {}
    for table, column in _texts(survey):
        if table in ("sites", "visits", "lots", "determinations", "short_names"):
            found[table] = found.get(table, 0) + survey.count(f"{table} where {naming}({column})")
    return {table: count for table, count in found.items() if count}


def _naming(survey: Survey, needles: Sequence[str], person: int = 0) -> str:
    """A function of the database by name: whether a text holds one of these."""
    pattern = _pattern(survey, needles, person)
    survey.connection.create_function(
        "names_person",
        1,
        lambda text: int(any(not one["other"] for one in pattern.finditer(text or ""))),
    )
    return "names_person"


def _pattern(survey: Survey, needles: Sequence[str], person: int = 0) -> re.Pattern[str]:
    """Finds any of these, and as ``other`` a name of somebody else that holds one of them."""
    theirs = any_phrase(needles)
    listed = "name <> '' and forgotten_at is null and id <> ?"
    names = survey.column(f"select name from people where {listed}", person)
    other = [name for name in names if re.search(theirs, name, re.IGNORECASE)]
    return re.compile(f"(?P<other>{any_phrase(other)})|{theirs}", re.IGNORECASE)


def _plain(name: str) -> str:
    return " ".join(normalize("NFC", name).casefold().split())


def _texts(survey: Survey) -> list[tuple[str, str]]:
    """Every table and column of words, but for the names of people: each is its own person's."""
    rows = survey.run(
        "select m.name, c.name from sqlite_master m join pragma_table_info(m.name) c"
        " where m.type = 'table' and m.name not like '%sqlite%' and lower(c.type) = 'text'"
    )
    own = ("people", "name")
    return [(t, column) for t, column in rows if column not in _KEYS and (t, column) != own]
