"""Keep the log of who did what, said what and about what; let an action hold no longer, or again.

What an identifier in a line of the log stands for is looked up here, too.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import UTC, datetime

from triage.errors import UnknownError
from triage.store.connection import Survey
from triage.store.rows import holds

LASTING = ("forget", "settings")
"""Commands whose work nothing takes back."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Action:
    """One line of the log: who did what, when, and whether it was taken back."""

    number: int
    at: str
    by: str
    command: str
    summary: str
    undoes: int | None = None
    taken_back: bool


_SELECT = "select *, id as number, by_name as by, live = 0 as taken_back from actions"


def utc_text(moment: datetime) -> str:
    """An aware moment as UTC ISO 8601 with seconds."""
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


@contextmanager
def acting(survey: Survey, command: str, summary: str, *, by: str, now: datetime) -> Iterator[int]:
    """One transaction with an action in it; gives the number under which everything is written."""
    with survey.transaction():
        yield record(survey, command, summary, by=by, now=now)


def record(survey: Survey, command: str, summary: str, *, by: str, now: datetime) -> int:
    """Append an action and return its number."""
    survey.require_writing()
    values = {"at": utc_text(now), "by_name": by, "command": command, "summary": summary}
    return survey.insert("actions", values)


def add_to_summary(survey: Survey, action: int, words: str) -> None:
    """Say in the line of an action that is being carried out what came of it."""
    survey.run("update actions set summary = summary || ? where id = ?", words, action)


@dataclass(frozen=True, slots=True, kw_only=True)
class Undone:
    """What was taken back; ``root`` is the action whose work no longer holds, or holds again."""

    number: int
    taken: Action
    root: int
    holds: bool


def undo(survey: Survey, *, by: str, now: datetime, number: int | None = None) -> Undone:
    """Take back an action (``to_take_back``); taking back an undo brings back what it took."""
    found = to_take_back(survey, by=by, number=number)
    undoing = record(survey, "undo", _summary(found), by=by, now=now)
    survey.update("actions", {"undoes": found.number}, id=undoing)
    root, holds = _turn(survey, found)
    return Undone(number=undoing, taken=replace(found, taken_back=True), root=root, holds=holds)


def to_take_back(
    survey: Survey, *, by: str, number: int | None = None, also: Collection[str] = ()
) -> Action:
    """One's own newest action that still holds, or the one of this number.

    ``also`` are other forms of the own name.

    Raises
    ------
    UnknownError
        If there is nothing to take back, it was taken back before, or its work lasts.
    """
    found = by_number(survey, number) if number is not None else _own_newest(survey, (by, *also))
    if found is not None and found.taken_back:
        _refuse_taken_back(survey, found.number)
    if found is None or found.taken_back:
        raise UnknownError(
            "there is no such action to take back",
            failing=str(number if number is not None else by),
            next_step="See 'triage log' for everybody's actions and their numbers.",
        )
    if found.command in LASTING:
        raise UnknownError(
            f"nothing can be taken back: '{found.command}' is for good",
            failing=f"action {found.number}",
            next_step="An action before it can be taken back by its number: see 'triage log'.",
        )
    return found


def _refuse_taken_back(survey: Survey, number: int) -> None:
    """Say by which action an action that holds no longer was taken back."""
    query = "select id from actions where undoes = ? and live = 1 order by id desc"
    if by := survey.first(query, number):
        raise UnknownError(
            "this was taken back already",
            failing=f"action {number}",
            next_step=f"'triage undo {by}' brings it back.",
        )


def _own_newest(survey: Survey, names: Collection[str]) -> Action | None:
    """The newest action that holds of somebody, under any of these names."""
    where = (
        "live = 1 and undoes is null and by_name collate nocase in (select value from json_each(?))"
    )
    query = f"{_SELECT} where {where} order by id desc limit 1"
    return survey.record(Action, query, json.dumps(list(names)))


def _summary(taken: Action) -> str:
    if taken.undoes is None:
        return f"took back: {taken.summary}"
    return f"brought back: {taken.summary.partition(': ')[2]}"


def _turn(survey: Survey, one: Action) -> tuple[int, bool]:
    """Let an action hold no longer, what it took back hold again, and so on down to the root."""
    live = 0
    while True:
        survey.update("actions", {"live": live}, id=one.number)
        before = by_number(survey, one.undoes) if one.undoes is not None else None
        if before is None:
            return one.number, bool(live)
        one, live = before, 1 - live


def log(survey: Survey, *, limit: int = 50) -> list[Action]:
    """The newest actions first."""
    return survey.records(Action, f"{_SELECT} order by id desc limit ?", limit)


def newest_of(survey: Survey, by: str) -> Action | None:
    """The newest action of this person that still holds and may be taken back."""
    found = _own_newest(survey, [by])
    return None if found is None or found.command in LASTING else found


def acted(survey: Survey, name: str) -> bool:
    """Whether anything was ever done under this name, taken back or not."""
    return survey.exists("actions where by_name = ? collate nocase", name)


def newest_number(survey: Survey) -> int:
    """The number of the newest action of all; 0 before the first."""
    return int(survey.first("select max(id) from actions") or 0)


def by_number(survey: Survey, number: int) -> Action | None:
    """The action of this number, an undo too."""
    return survey.record(Action, f"{_SELECT} where id = ?", number)


def add_statement(
    survey: Survey, digest: str, subjects: Iterable[str], *, stands: str, action: int
) -> None:
    """Append what an action said, under its digest."""
    survey.insert("statements", {"action_id": action, "digest": digest, "stands": stands})
    for subject in sorted(set(subjects)):
        survey.insert("statement_subjects", {"action_id": action, "subject": subject})


def newest_statement(survey: Survey, digest: str) -> tuple[int, str] | None:
    """The newest action that holds and said this, with how things stood once it was said."""
    row = survey.row(
        "select action_id, stands from statements where digest = ?"
        f" and {holds()} order by action_id desc limit 1",
        digest,
    )
    return (row["action_id"], row["stands"]) if row is not None else None


def subjects_of(survey: Survey, action: int) -> list[str]:
    """What an action spoke of."""
    query = "select subject from statement_subjects where action_id = ? order by subject"
    return survey.column(query, action)


def spoken_of_since(survey: Survey, action: int) -> bool:
    """Whether a later action that holds spoke of anything that this one spoke of."""
    return survey.exists(
        "statement_subjects mine join statement_subjects later"
        " on later.subject = mine.subject and later.action_id > mine.action_id"
        f" where mine.action_id = ? and {holds('later.action_id')}",
        action,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """What a person knows a mail, a photo or a sighting by; empty where it is not known."""

    subject: str = ""
    day: str = ""
    who: str = ""
    file_name: str = ""
    locality: str = ""
    latitude: float | None = None
    longitude: float | None = None


_WHO = "coalesce(nullif(p.name, ''), p.code) as who"
_MAIL = "m.subject, substr(m.sent_at, 1, 10) as day"
_LOOK_UPS = (
    f"select {_MAIL}, {_WHO} from messages m left join people p on p.id = m.sender_id"
    " where m.identifier between ?1 and ?1 || 'g' limit 1",
    f"select a.file_name, {_MAIL}, {_WHO} from parts a join messages m on m.id = a.message_id"
    " left join people p on p.id = m.sender_id"
    " where a.sha256 between ?1 and ?1 || 'g' order by a.id limit 1",
    "select substr(event_date, 1, 10) as day, locality, decimal_latitude as latitude,"
    " decimal_longitude as longitude from sightings where identifier = ?1",
)


def named(survey: Survey, identifier: str) -> Named | None:
    """What the identifier, or the digits that it begins with, stands for; None for nothing."""
    for query in _LOOK_UPS:
        if found := survey.record(Named, query, identifier):
            return found
    return None
