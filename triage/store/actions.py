"""Keep the log of who did what, and let an action of it hold no longer, or again."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import UTC, datetime

from triage.errors import UnknownError
from triage.store.connection import Survey

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


@dataclass(frozen=True, slots=True, kw_only=True)
class Undone:
    """What was taken back; ``root`` is the action whose work no longer holds, or holds again."""

    number: int
    taken: Action
    root: int
    holds: bool


def undo(
    survey: Survey,
    *,
    by: str,
    now: datetime,
    number: int | None = None,
    also: Collection[str] = (),
) -> Undone:
    """Take back an action: one's own newest that still holds, or the one of this number.

    Taking back an undo brings back what it took. ``also`` are other forms of the own name.

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
    undoing = record(survey, "undo", _summary(found), by=by, now=now)
    survey.update("actions", {"undoes": found.number}, id=undoing)
    root, holds = _turn(survey, found)
    return Undone(number=undoing, taken=replace(found, taken_back=True), root=root, holds=holds)


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


def by_number(survey: Survey, number: int) -> Action | None:
    """The action of this number, an undo too."""
    return survey.record(Action, f"{_SELECT} where id = ?", number)
