"""Take back what a person did, and bring everything that followed from it up to date."""

from __future__ import annotations

from datetime import datetime

from triage.pipeline import inbox, proposals
from triage.store import actions, grouping
from triage.store.connection import Survey


def undo(survey: Survey, *, by: str, now: datetime, number: int | None = None) -> actions.Action:
    """Take back the newest action, or the one of this number, and what followed from it."""
    with survey.transaction():
        taken = actions.undo(survey, by=by, now=now, number=number)
        touched = grouping.photos_of_action(survey, taken.number)
        grouping.mark_dirty(survey, touched)
    refresh(survey, now=now)
    return taken


def refresh(survey: Survey, *, now: datetime) -> None:
    """Propose sightings anew around changed photos and derive the states of their messages."""
    changed = grouping.dirty(survey, proposals.METHOD)
    proposals.propose(survey, now=now)
    with survey.transaction():
        inbox.review_messages_of(survey, changed, now=now)
