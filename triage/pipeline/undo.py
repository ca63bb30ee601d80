"""Take back what a person did, and bring everything that followed from it up to date."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from triage.determinations.determiners import names_near, recognise
from triage.errors import UnknownError
from triage.pipeline import consents, examine, inbox, proposals
from triage.pipeline.claims import reread_corrected
from triage.pipeline.drafts import remove_unsent, write_again
from triage.pipeline.volunteer_letters import remove_unsent_letters
from triage.store import (
    actions,
    claims,
    copies,
    derived_rules,
    grouping,
    history,
    joins,
    messages,
    people,
    photos,
    questions,
)
from triage.store.actions import Action, Undone
from triage.store.connection import Survey


def undo(survey: Survey, *, by: str, now: datetime, number: int | None = None) -> Undone:
    """Take back one's own newest action, or the one of this number, whole; an undo too.

    Raises
    ------
    UnknownError
        If there is nothing to take back, or it is for good.
    """
    with survey.transaction():
        undone = actions.undo(
            survey, by=by, now=now, number=to_take_back(survey, by=by, number=number).number
        )
        history.restore(survey, undone.root)
        drafted = questions.of_action(survey, undone.root)
        touched = messages.rows_of_action(survey, undone.root)
        messages.make_due(survey, touched)
        answered = [one.message for one in drafted if one.answered_by is not None]
        # A corrected clock tells the age of a fix.
        messages.reread_texts(survey, [*touched, *answered])
        questions.read_anew_after(survey, undone.root)
        spoken_of = grouping.photos_of_action(survey, undone.root)
        grouping.mark_dirty(survey, spoken_of)
        reread_corrected(survey, spoken_of)
        copies.compare_anew(survey, claims.placed_by(survey, undone.root))
        told_apart = (joins.join_again if undone.holds else joins.part)(survey, undone.root)
        make_people_due(survey, told_apart)
        mails = {mail for person in told_apart for mail in people.mails_of(survey, person)}
        consents.read_mails(survey, sorted(mails))
    if not undone.holds:
        remove_unsent_letters(survey, undone.root)
    for question in drafted:
        (write_again if undone.holds else remove_unsent)(survey, question, now=now)
    boxed = photos.corrected_by(survey, undone.root, "box")
    if boxed:
        examine.measure_in_box(survey, boxed, now=now)
    refresh(survey, now=now)
    if told_apart:
        inbox.settle_states(survey, now=now)
    return undone


def take_back(survey: Survey, number: str, *, by: str, now: datetime) -> actions.Undone:
    """Take back an action of one's own, or bring back what an own undo took, once.

    Raises
    ------
    UnknownError
        If the number is none of this person's, or it was taken back before.
    """
    found = actions.by_number(survey, int(number)) if number.isdecimal() else None
    if found is None or found.by.casefold() != by.casefold():
        raise UnknownError(
            "there is nothing of yours to take back here",
            failing="undo",
            next_step="The log lists what everybody did, with numbers: 'triage log'.",
        )
    return undo(survey, by=by, now=now, number=found.number)


def to_take_back(survey: Survey, *, by: str, number: int | None = None) -> Action:
    """What ``undo`` would take back; a name that is nobody's and near somebody's is asked about.

    Raises
    ------
    UnknownError
        If there is nothing to take back, or it is for good.
    """
    try:
        return actions.to_take_back(survey, by=by, number=number, also=_forms_of(survey, by))
    except UnknownError:
        everybody = people.known(survey)
        nobodys = number is None and not (recognise(by, everybody) or actions.acted(survey, by))
        names = names_near(by, everybody) if nobodys else []
        if not names:
            raise
        raise UnknownError(
            f"nothing was done under this name; {' or '.join(names)} may be meant",
            failing=by,
            next_step="Write the name as it stands in 'triage log'.",
        ) from None


def _forms_of(survey: Survey, by: str) -> list[str]:
    """Every form of a name under which somebody's actions may stand in the log."""
    person = recognise(by, people.known(survey))
    plain = " ".join(by.split())
    if person is None:
        return [plain]
    return [plain, person.name, person.code, *person.short_names, *person.addresses]


def make_people_due(survey: Survey, persons: Iterable[int]) -> None:
    """Have what hangs on these people grouped and told anew."""
    wanted = set(persons)
    grouping.mark_dirty(survey, grouping.photos_of_people(survey, wanted))
    messages.make_due_of(survey, wanted)


def refresh(survey: Survey, *, now: datetime) -> None:
    """Bring what rests on changed photos up to date: copies, sightings, the queue, mails.

    Their matches are due then, and made anew when they are looked at.
    """
    changed = proposals.compare_and_propose(survey)
    shown = {one for every in copies.exposures(survey, changed).values() for one in every}
    with survey.transaction():
        due = grouping.sightings_of_photos(survey, shown)
        derived_rules.make_due(survey, "queue_order", due)
        inbox.review_messages_of(survey, changed, now=now)
