"""Load what the inbox must know of messages, their photos, and the questions that they answer."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from email import message_from_bytes, policy

from triage.errors import UnknownError
from triage.inbox import MessageFacts, Need, PhotoFacts, needs_of
from triage.inbox.facts import Known, photos_of, shortened, with_camera_offer, wording
from triage.mail.kept import AppearanceRow, MessageRow
from triage.pipeline import claims
from triage.replies.answers import is_understood, recognise_answer
from triage.replies.drafted import QuestionRow
from triage.replies.threads import AskedQuestion, ThreadFound, recognise_without_thread
from triage.store import (
    copies,
    evidence,
    grouping,
    messages,
    photographers,
    photos,
    questions,
    text_reading,
)
from triage.store.connection import Survey

BATCH = 500  # messages whose photos are held in memory together


def facts_of(
    survey: Survey, rows: Sequence[MessageRow]
) -> Iterator[tuple[MessageRow, MessageFacts]]:
    """Each message with all that its state and its needs follow from."""
    asked = questions.live(survey)
    newest = {q.message: q for q in asked}
    answers = {q.answered_by: q for q in asked if q.answered_by is not None}
    waiting = [q for q in asked if q.answered_by is None]
    for start in range(0, len(rows), BATCH):
        batch = rows[start : start + BATCH]
        known = _load(survey, [row.row for row in batch])
        for row in batch:
            found = photos_of(known, row.row)
            question = newest.get(row.row)
            yield (
                row,
                MessageFacts(
                    automatic=row.automatic,
                    forgotten=row.origin == messages.ORIGIN_FORGOTTEN,
                    hand_state=row.hand_state,
                    hand_reason=row.hand_reason,
                    asked=question is not None,
                    answered=question is not None and question.answered_by is not None,
                    answers=answers[row.row].code if row.row in answers else "",
                    photos=tuple(found),
                    needs=tuple(
                        _needs_of(survey, row, found, known, answers.get(row.row), waiting)
                    ),
                ),
            )


def _load(survey: Survey, rows: list[int]) -> Known:
    shown = photos.appearances_of_messages(survey, rows)
    groups = copies.exposures(survey, [one.photo for ones in shown.values() for one in ones])
    best_of = {photo: best for best, everyone in groups.items() for photo in everyone}
    everywhere: dict[str, list[AppearanceRow]] = {}
    for one in photos.appearances(survey, best_of):
        everywhere.setdefault(best_of[one.photo], []).append(one)
    loaded = photos.load(survey, best_of)
    return Known(
        shown=shown,
        best_of=best_of,
        everywhere={b: sorted(ones, key=lambda a: a.part) for b, ones in everywhere.items()},
        rows=loaded,
        chosen=claims.choose(survey, groups, rows=loaded),
        in_sightings={best_of[p] for p in grouping.photos_in_sightings(survey, best_of)},
        other_files=messages.other_files(survey, rows),
        texts=text_reading.texts_of(survey, rows),
        sites=[site.locality for site in evidence.sites(survey)],
        photographers=photographers.named(survey, best_of),
    )


def _needs_of(
    survey: Survey,
    row: MessageRow,
    found: Sequence[PhotoFacts],
    known: Known,
    question: QuestionRow | None,
    waiting: Sequence[QuestionRow],
) -> Iterable[Need]:
    text = known.texts.get(row.row, "")
    needs = needs_of(
        found,
        links=row.links,
        other_files=[
            f"{part.file_name or part.media_type} ({part.reason})"
            for part in known.other_files.get(row.row, ())
        ],
        least_odonate=survey.settings.sightings.least_odonate,
        said=replace(
            wording(row, text, known.sites),
            answers=question is not None,
            may_answer=""
            if question is not None or found or not waiting
            else answered(survey, row, waiting).offered,
            answer=_left_of_answer(survey, row, text, question, brings=bool(found)),
        ),
    )
    return with_camera_offer(row, needs, known, zone=survey.settings.survey.time_zone)


def _left_of_answer(
    survey: Survey, row: MessageRow, text: str, question: QuestionRow | None, *, brings: bool
) -> str:
    """What a person must read of an answer, with its words; empty if all of it was understood."""
    if question is None or (question.what == "original" and brings):
        return ""
    place, date = claims.said_in_answer(survey, row.row, claims.surroundings(survey))
    if is_understood(text, question.what, place=place, date=date):
        return ""
    words = shortened(text) or "nothing"
    return f"asked for {question.what} of message {question.identifier[:10]}, says: '{words}'"


def answered(survey: Survey, row: MessageRow, waiting: Iterable[QuestionRow]) -> ThreadFound:
    """The question that a mail surely answers, or one that it may answer, of those that wait.

    Whoever else writes in the thread is heard by the coordinator, not believed.
    """
    asked = {q.code: q for q in waiting if _is_asked_of(q, row)}
    if not asked or row.automatic:  # a machine that replies has read nothing
        return ThreadFound()
    layers = messages.envelopes_of(survey, row.row)
    quoted = "\n".join(one.quoted_text for one in layers)
    words = "\n".join((row.subject, *(one.text for one in layers), quoted))
    code = recognise_answer(row.in_reply_to, row.references, words, list(asked))
    if code:
        return ThreadFound(code=code)
    # A subject tells only where nothing else does: photos may be new ones on the old subject.
    brings = bool(photos.appearances_of_message(survey, row.row))
    threaded = bool(row.in_reply_to or row.references)
    found = recognise_without_thread(
        "" if brings or threaded else row.subject,
        quoted,
        [_asked(survey, question) for question in asked.values()],
    )
    return ThreadFound(code=found.code) if brings else found


def say_answer(survey: Survey, row: MessageRow, code: str, *, action: int) -> str:
    """Append that a message answers the question of this code; returns what was asked.

    Raises
    ------
    UnknownError
        If no question of that code waits for this message's sender.
    """
    known = [q for q in questions.live(survey) if q.code == code.strip().lower()]
    if not known or not _is_asked_of(known[0], row):
        raise UnknownError(
            "no such question was asked of this sender",
            failing=code,
            next_step="See 'triage replies' for the codes.",
        )
    questions.say_answer(survey, known[0].code, row.row, action=action)
    return known[0].what


def _is_asked_of(question: QuestionRow, row: MessageRow) -> bool:
    mine = question.sender is not None and question.sender == row.sender
    return mine and question.message != row.row


def _asked(survey: Survey, question: QuestionRow) -> AskedQuestion:
    words = _words_of(survey, question.draft_name)
    return AskedQuestion(code=question.code, subject=question.subject, words=words)


def _words_of(survey: Survey, draft_name: str) -> str:
    """The text of a draft as it lies in the survey, empty where it lies there no more."""
    path = survey.replies / draft_name
    if not path.is_file():
        return ""
    body = message_from_bytes(path.read_bytes(), policy=policy.default).get_body(("plain",))
    return body.get_content() if body is not None else ""
