"""Load the log of who did what, its mails, photos, sightings and people named as they are known.

The log itself keeps identifiers alone: what they are called is read when somebody looks, so that
nothing of a forgotten person is told.
"""

from __future__ import annotations

import re
from dataclasses import replace

from triage.determinations.blind import sighting_spoken_of, without_what_was_said
from triage.standards.darwin_core import place_words
from triage.store import actions, people, queue_order
from triage.store.actions import Named
from triage.store.connection import Survey

SHOWN_DIGITS = 10  # of an identifier, as every list of the program shows it
SHOWN_SUBJECT = 50  # characters
_IDENTIFIER = re.compile(r"\b(?=[0-9a-f]*[0-9])[0-9a-f]{12}(?:[0-9a-f]{4})?\b")


def log_of(survey: Survey, *, limit: int, reader: str, blind: bool) -> list[actions.Action]:
    """The newest actions first; to a blind reader without what others said of what still waits."""

    def hidden(one: actions.Action) -> actions.Action:
        sighting = sighting_spoken_of(one.summary)
        own = one.by.casefold() == reader.casefold()
        if not sighting or own or not queue_order.holds(survey, sighting):
            return one
        return replace(one, summary=without_what_was_said(one.summary))

    found = actions.log(survey, limit=limit)
    told = [hidden(one) for one in found] if blind else found
    return [replace(one, summary=with_names(survey, one.summary)) for one in told]


def with_names(survey: Survey, summary: str) -> str:
    """A line of the log with the names of what its identifiers stand for."""

    def named(found: re.Match[str]) -> str:
        known = actions.named(survey, found[0])
        return found[0] if known is None else f"{found[0][:SHOWN_DIGITS]} {words_of(known)}".strip()

    return _IDENTIFIER.sub(named, people.with_names(survey, summary)[0])


def words_of(known: Named) -> str:
    """A mail by subject, day and sender, a photo by its file and mail, a sighting by day and place.

    >>> words_of(Named(subject="A visitor", day="2026-07-21", who="Sam Ferry", file_name="p1.jpg"))
    'p1.jpg ("A visitor", 2026-07-21, Sam Ferry)'
    """
    subject = " ".join(known.subject.split())
    if len(subject) > SHOWN_SUBJECT:
        subject = f"{subject[: SHOWN_SUBJECT - 3]}..."
    place = place_words(known.locality, known.latitude, known.longitude)
    about = ", ".join(
        filter(None, (f'"{subject}"' if subject else "", known.day, known.who, place))
    )
    return " ".join(filter(None, (known.file_name, f"({about})" if about else "")))
