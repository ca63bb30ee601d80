"""Know a command that is given again: the same words about what stands unchanged are one action.

So a command that was ended after it was recorded can be repeated: what is recorded stays one
action, and the work that follows from it is finished.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from triage.pipeline import claims
from triage.standards.digests import short_digest_of
from triage.store import actions, messages
from triage.store.connection import Survey

Tell = Callable[[str], None]


def silent(_: str) -> None:
    """Tell nobody."""


def said(command: str, by: str, *words: object) -> str:
    """The digest of a statement: the command, who gave it, and its words."""
    return short_digest_of(repr((command, " ".join(by.split()).casefold(), words)))


def is_known(survey: Survey, statement: str, tell: Tell = silent) -> bool:
    """Whether this was said before and still stands as it did then; if so, somebody is told."""
    found = actions.newest_statement(survey, statement)
    if found is None or actions.spoken_of_since(survey, found[0]):
        return False
    action, stood = found
    if stood != _stands(survey, actions.subjects_of(survey, action)):
        return False
    tell(f"This is recorded already, as action {action}: nothing was added.")
    return True


def keep(survey: Survey, statement: str, subjects: Iterable[str], *, action: int) -> None:
    """Note what an action said and of what; to be called once all of it is written.

    Subjects are "time PHOTO", "place PHOTO" and "state MESSAGE", of which what stands is compared
    when the words come again, and any other text, of which only later words are looked for.
    """
    about = sorted(set(subjects))
    actions.add_statement(survey, statement, about, stands=_stands(survey, about), action=action)


def _stands(survey: Survey, subjects: Iterable[str]) -> str:
    """The digest of how times, places and states stand now."""
    wanted = [(kind, name) for kind, _, name in (one.partition(" ") for one in subjects)]
    photos = {name for kind, name in wanted if kind in ("time", "place")}
    chosen = claims.choose_each(survey, sorted(photos))
    found: list[object] = []
    for kind, name in wanted:
        if kind == "time":
            time = chosen[name].time
            found.append((name, time and (time.event_date, time.source)))
        elif kind == "place":
            place = chosen[name].place
            found.append(
                (name, place and (place.decimal_latitude, place.decimal_longitude, place.source))
            )
        elif kind == "state":
            found.append((name, messages.find(survey, name).state))
    return short_digest_of(repr(found))
