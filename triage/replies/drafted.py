"""Letters that lie there as drafts: what each is called, its kind, and to whom it goes."""

from __future__ import annotations

import re
from dataclasses import dataclass

from triage.mail.kept import MessageRow
from triage.replies.envelope import Addressee
from triage.replies.wording import Question


@dataclass(frozen=True, slots=True, kw_only=True)
class QuestionRow:
    """A question as kept: the row of the message that it asks about, and of the one that answers.

    ``identifier``, ``subject``, ``sender`` (the row of a person) and ``sender_name`` are of the
    message that it asks about.
    """

    code: str
    what: Question
    draft_name: str
    message: int
    answered_by: int | None
    identifier: str
    subject: str
    sender: int | None
    sender_name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """A drafted question, where it lies, and whether its answer has come."""

    code: str
    what: str
    message: str
    path: str
    answered: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Drafted:
    """One letter whose draft lies there: by what it is called, of what kind, to whom.

    ``about`` is what a question asks, or how many sightings a letter tells of.
    """

    code: str
    kind: str  # question, thanks, season
    to: str
    about: str
    year: int = 0
    answered: bool = False


def addressee(row: MessageRow) -> Addressee:
    """The sender of a message, and the message as a letter to them answers it."""
    return Addressee(
        address=row.sender_address,
        name=row.sender_name,
        subject=row.subject,
        message_id=_bracketed(row.message_id),
        references=tuple(_bracketed(one) for one in row.references),
    )


def _bracketed(message_id: str) -> str:
    """A Message-ID as the header has it (RFC 5322 section 3.6.4); kept without the brackets."""
    return f"<{message_id.strip('<>')}>" if message_id else ""


def season_of_all(year: str) -> str:
    """What the season letter to everybody about a year is called."""
    return f"season-{year}-for-all"


def earlier(code: str, number: int) -> str:
    """What the words of a letter to everybody are called after it was drafted anew."""
    return f"{code}-{number}"


def is_for_all(code: str) -> bool:
    """Whether a letter is a season letter to everybody, an earlier one too, by its code."""
    return _FOR_ALL.fullmatch(code) is not None


_FOR_ALL = re.compile(season_of_all(r"\d{4}") + r"(?:-\d+)?")
