"""Empties the mails in which a forgotten person speaks; notes what is to be deleted from the disk.

A mail may hold layers of several people: one passed on another's. The whole mail cannot be kept
without the words of the one who is forgotten; the words and files of the others stay.
"""

from __future__ import annotations

import json
import re
from collections.abc import Collection
from dataclasses import asdict, dataclass

from triage.store import notes, tallies
from triage.store.connection import Survey
from triage.store.photos import SENDER, SENT_PARTS

_NOTE = "to delete from the disk"
_OTHER_FILE = "outcome = 'kept, other kind'"
_QUOTED = re.compile(r"(?<!\w)'.*'(?!\w)")  # doubts tell the words of a mail in quotation marks


@dataclass(frozen=True, slots=True, kw_only=True)
class Leavings:
    """What is still to be deleted: raw mails and files by their digests, drafts by name."""

    raw_mails: tuple[str, ...] = ()
    files: tuple[str, ...] = ()
    drafts: tuple[str, ...] = ()


def of_person(survey: Survey, person: int, mails: Collection[int]) -> Leavings:
    """Raw mails, files that are no pictures and belong to nobody else, and drafts."""
    theirs = parts_of(survey, person, mails)
    files = survey.column_in(
        f"select sha256 from parts where {_OTHER_FILE} and id in (...)", theirs
    )
    query = f"select sha256, {_OTHER_FILE}, id from parts where sha256 in (...)"
    of_others = {
        row[0] for row in survey.run_in(query, files) if not row[1] or row[2] not in theirs
    }
    query = "select draft_name from questions where message_id in (...)"
    letters = survey.column("select draft_name from letters where person_id = ?", person)
    raw = survey.column_in("select raw_sha256 from messages where id in (...)", mails)
    return Leavings(
        raw_mails=tuple(sorted(raw)),
        files=tuple(sorted(files - of_others)),
        drafts=tuple(sorted(survey.column_in(query, mails).union(letters))),
    )


def parts_of(survey: Survey, person: int, mails: Collection[int]) -> set[int]:
    """The parts of these mails that a person sent, in a mail of their own or of another's."""
    query = f"select p.id from {SENT_PARTS} where {SENDER} is {person:d} and m.id in (...)"
    return survey.column_in(query, mails)


def file_names(survey: Survey, person: int, mails: Collection[int]) -> set[str]:
    """What a person called the files in these mails, and nobody else any of theirs."""
    theirs = parts_of(survey, person, mails)
    names = survey.column_in(
        "select file_name from parts where file_name <> '' and id in (...)", theirs
    )
    rows = survey.run_in("select file_name, id from parts where file_name in (...)", names)
    return names - {row[0] for row in rows if row[1] not in theirs}


def message_headers(survey: Survey, person: int, mails: Collection[int]) -> set[str]:
    """The Message-IDs of those of these mails that a person sent."""
    return survey.column_in(
        "select message_header from messages where message_header <> ''"
        f" and sender_id is {person:d} and id in (...)",
        mails,
    )


def _unnamed_in_answers(survey: Survey, headers: Collection[str]) -> None:
    """Take Message-IDs out of the rows of mails that answer these."""
    rows = survey.run(
        "select id, in_reply_to, reference_headers from messages"
        " where in_reply_to <> '' or reference_headers <> '[]'"
    ).fetchall()
    for row, answered, references in rows:
        named = json.loads(references)
        kept = [one for one in named if one not in headers]
        if answered in headers or kept != named:
            query = "update messages set in_reply_to = ?, reference_headers = ? where id = ?"
            survey.run(query, "" if answered in headers else answered, json.dumps(kept), row)


def empty(survey: Survey, person: int, mails: Collection[int]) -> None:
    """Keep nothing that a person wrote in these mails; what others wrote in them stays."""
    theirs = parts_of(survey, person, mails)
    survey.run_in(
        "update envelopes set subject = '', text = '', quoted_text = '' where coalesce(person_id,"
        f" (select sender_id from messages m where m.id = message_id)) is {person:d}"
        " and message_id in (...)",
        mails,
    )
    _unnamed_in_answers(survey, message_headers(survey, person, mails))
    survey.run_in(  # a Message-ID names the sender's computer, or their own domain
        "update messages set subject = '', message_header = '', in_reply_to = '',"
        f" reference_headers = '[]' where sender_id is {person:d} and id in (...)",
        mails,
    )
    survey.run_in(
        "update messages set links = '[]', problems = '[]', raw_name = '', origin = 'forgotten'"
        " where id in (...)",
        mails,
    )
    survey.run_in(
        "update parts set sha256 = null, outcome = 'nothing to keep', reason ="
        f" 'its sender was forgotten' where {_OTHER_FILE} and id in (...)",
        theirs,
    )
    survey.run_in("update parts set file_name = '' where id in (...)", theirs)
    with tallies.rewriting(survey.connection, "parts"):  # a path holds names of files in archives
        survey.run_in(
            "update parts set path = 'forgotten/' || (select count(*) from parts q"
            " where q.message_id = parts.message_id and q.id < parts.id)"
            " where message_id in (...)",
            mails,
        )
    _without_words(survey, mails)


def _without_words(survey: Survey, mails: Collection[int]) -> None:
    """Let claims keep what was read, not the words in which it stood."""
    survey.connection.create_function("without_quoted", 1, _without_quoted)
    for table in ("time_claims", "place_claims"):
        survey.run_in(
            f"update {table} set verbatim = '', doubts = without_quoted(doubts) where part_id in"
            " (select id from parts where message_id in (...))",
            mails,
        )


def _without_quoted(doubts: str) -> str:
    r"""Doubts without the words of the mail.

    >>> _without_quoted(json.dumps(["the mail only mentions it: 'at Ada\'s, by the mere'"]))
    '["the mail only mentions it: \'...\'"]'
    """
    found = [_QUOTED.sub("'...'", one) for one in json.loads(doubts)]
    return json.dumps(found, ensure_ascii=False)


def note(survey: Survey, left: Leavings) -> None:
    """Note what is to be deleted, with the rows that named it."""
    notes.write(survey, _NOTE, json.dumps(asdict(left)))


def noted(survey: Survey) -> Leavings | None:
    """What is to be deleted, and perhaps was not; None if nothing is."""
    kept = notes.read(survey, _NOTE)
    if kept is None:
        return None
    return Leavings(**{what: tuple(names) for what, names in json.loads(kept).items()})


def done(survey: Survey) -> None:
    """Note that all of it is deleted."""
    notes.remove(survey, _NOTE)
