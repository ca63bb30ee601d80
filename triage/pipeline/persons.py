"""People in, joined addresses and forgotten persons out."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from triage.store import actions, originals, people
from triage.store.connection import Survey
from triage.store.people import Person


@dataclass(frozen=True, slots=True, kw_only=True)
class ForgetOutcome:
    """Whose mail was removed, by code, and how much of it."""

    code: str
    messages: int


def everybody(survey: Survey) -> list[Person]:
    """All people, in the order they appeared."""
    return people.all_people(survey)


def join(survey: Survey, first: str, second: str, *, now: datetime) -> None:
    """Say that two addresses are one person's."""
    with survey.transaction():
        people.join_addresses(survey, first, second)
        summary = "two addresses are one person's"
        actions.record(survey, command="people", summary=summary, by="coordinator", now=now)


def forget(survey: Survey, address_or_code: str, *, now: datetime) -> ForgetOutcome:
    """Remove a person's mail, name and contact; a line in the log remains, without the name."""
    with survey.transaction():
        person, raws = people.forget(survey, address_or_code, now=now)
        summary = f"{person.code} was forgotten"
        actions.record(survey, command="forget", summary=summary, by="coordinator", now=now)
    for raw in raws:
        originals.remove(survey.messages, raw)
    return ForgetOutcome(code=person.code, messages=len(raws))
