"""Hold back photos of and by children until a guardian has consented, and record that consent."""

from __future__ import annotations

from datetime import datetime

from triage.errors import UnknownError
from triage.mail.consent import speaks_of_children
from triage.store import actions, guardians, messages, people
from triage.store.connection import Survey

HELD_BACK = "of or by a child: no guardian's consent is on record"


def record(
    survey: Survey, code: str, *, given_by: str, message: str = "", by: str, now: datetime
) -> None:
    """Note that a guardian consented for the photos in this person's mails; undo takes it back.

    ``message`` is the mail in which it was given; without one it was given otherwise.

    Raises
    ------
    UnknownError
        If the person or the message is unknown, or nobody is named as the guardian.
    """
    if not given_by.strip():
        raise UnknownError(
            "a consent needs the name of whoever gave it",
            failing=code,
            next_step="Name the guardian: --given-by NAME.",
        )
    person = people.to_forget(survey, code)
    mail = messages.find(survey, message) if message else None
    given_on = mail.sent_at[:10] if mail and mail.sent_at else now.date().isoformat()
    summary = f"a guardian's consent for the photos of {person.code}"
    with actions.acting(survey, "guardian", summary, by=by, now=now) as action:
        guardians.add(
            survey,
            person.row,
            given_by=given_by.strip(),
            given_on=given_on,
            message=mail.row if mail else None,
            action=action,
        )


def held_back(survey: Survey) -> dict[str, str]:
    """Photos that may not leave, with the reason: a mail that brought them speaks of a child."""
    consented = {one.person for one in guardians.live(survey)}
    return {
        photo: HELD_BACK
        for photo, sender, words in guardians.words_beside(survey)
        if sender not in consented and speaks_of_children(words)
    }
