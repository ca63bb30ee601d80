"""Load whom a typed name means, and add a determiner to the survey when that is wanted."""

from __future__ import annotations

from datetime import datetime

from triage.determinations.determiners import KnownPerson, ask_about, recognise
from triage.errors import UnknownError
from triage.standards.person_names import near_names
from triage.store import history, people
from triage.store.connection import Survey

SHORT_NAME_LETTERS = 12  # at most: initials or a nickname


def determiner(survey: Survey, typed: str, *, new: bool = False) -> KnownPerson:
    """The person of the survey whom a name means; with ``new`` somebody not known yet is added.

    Raises
    ------
    UnknownError
        If nobody is called so and ``new`` is not given, or several are.
    """
    known = people.known(survey)
    found = recognise(typed, known)
    if found is not None:
        return found
    name = " ".join(typed.split())
    if not new or not name:
        raise ask_about(typed, known)
    row = people.add(survey, name)
    return KnownPerson(row=row, code=people.codes(survey, [row])[row], name=name)


def names_near(survey: Survey, typed: str) -> list[str]:
    """Names of people of which this one, nobody's yet, may be a slip."""
    known = people.known(survey)
    if recognise(typed, known) is not None:
        return []
    return [name for name, _ in near_names(typed, [one.name for one in known if one.name])]


def set_short_name(survey: Survey, short: str, name: str, *, by: str, now: datetime) -> None:
    """Let initials or a nickname stand for a person wherever a determiner is named.

    Raises
    ------
    UnknownError
        If nobody has the name, or the short name is somebody else's or too long.
    """
    wanted = " ".join(short.split())
    if not 0 < len(wanted) <= SHORT_NAME_LETTERS:
        raise UnknownError(
            f"a short name has 1 to {SHORT_NAME_LETTERS} letters",
            failing=short,
            next_step="Choose initials or a nickname.",
        )
    person = determiner(survey, name)
    holder = recognise(wanted, people.known(survey))
    if holder is not None and holder.row != person.row:
        raise UnknownError(
            f"{wanted} is {holder.name or holder.code} already",
            failing=short,
            next_step="Choose another short name.",
        )
    with survey.transaction():
        changes = people.add_short_name(survey, wanted, person.row)
        history.act(survey, changes, "people", f"{wanted} is {person.code}", by=by, now=now)
