"""Bring the states of messages up to date with the answers that came; list what needs a human."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from triage.errors import UnknownError
from triage.inbox import (
    MessageFacts,
    Need,
    PhotoFacts,
    needs_of,
    not_settled_before,
    order_of,
    state_of,
)
from triage.inbox.facts import Known, photos_of, shortened, with_camera_offer, wording
from triage.mail.kept import MessageRow
from triage.mail.photographers import another_took_it
from triage.metadata.corrections import corrects_in_a_known_form
from triage.metadata.private_places import words_of_a_private_place
from triage.pipeline import claims, proposals
from triage.replies.answers import consent_in_answer, is_understood, recognise_answer
from triage.replies.drafted import QuestionRow
from triage.replies.editing import read_letter
from triage.replies.threads import AskedQuestion, ThreadFound, recognise_without_thread
from triage.sightings.words import several_in_a_known_form
from triage.standards.iso_dates import earliest_first, moment_of
from triage.store import (
    consents,
    evidence,
    grouping,
    messages,
    originals,
    people,
    photos,
    questions,
)
from triage.store.connection import Survey
from triage.workers.progress import Progress, silent

EARLIER_SHOWN = 5  # earlier mails that words without a photo may be about
BATCH = 500  # messages whose photos are held in memory together


@dataclass(frozen=True, slots=True, kw_only=True)
class InboxEntry:
    """A message that is open or waiting, with what it needs, its own words and its files."""

    message: MessageRow
    needs: tuple[Need, ...]
    words: str = ""
    files: tuple[str, ...] = ()


def settle_states(survey: Survey, *, now: datetime, progress: Progress = silent) -> int:
    """Derive the state of every message that is due; returns how many are open.

    Due are new messages and those of whose photos, questions or settling something changed.
    """
    _recognise_answers(survey, now=now)
    with survey.transaction():
        _derive_states(survey, now=now, progress=progress)
    return messages.count_open(survey)


def review_messages_of(survey: Survey, changed: Iterable[str], *, now: datetime) -> None:
    """Derive the states anew of messages whose photos changed, and of all that are due."""
    _read_anew(survey)
    messages.make_due(survey, sorted(grouping.messages_of_photos(survey, changed)))
    _derive_states(survey, now=now)


def _read_anew(survey: Survey) -> None:
    """Read the texts that are to be read again, and group what that changes."""
    if claims.read_claims_of(survey, messages.texts_to_reread(survey)):
        proposals.propose(survey)


def _derive_states(survey: Survey, *, now: datetime, progress: Progress = silent) -> None:
    messages.make_due_of_earlier_mails(survey)
    due = messages.due(survey)
    for done, (row, facts) in enumerate(facts_of(survey, due), 1):
        messages.set_state(survey, row.row, *state_of(facts), now=now)
        progress("looking what each mail needs", done, len(due))


def entries(survey: Survey) -> list[InboxEntry]:
    """What needs a human, worst first; waiting messages come last."""
    return sorted(
        _entries(survey, messages.unsettled(survey)),
        key=lambda e: order_of(e.message.state, e.needs, e.message.sent_at, e.message.identifier),
    )


def _entries(survey: Survey, rows: Sequence[MessageRow]) -> Iterator[InboxEntry]:
    texts = messages.texts_of(survey, [row.row for row in rows])
    for row, facts in facts_of(survey, rows):
        yield InboxEntry(
            message=row,
            needs=facts.needs,
            words=texts.get(row.row, ""),
            files=tuple(photo.file_name for photo in facts.photos),
        )


def entries_in_doubt(survey: Survey) -> Iterator[InboxEntry]:
    """What needs a human, and what was set aside with its doubts: that decides nothing of them.

    Of a message that was set aside only what it brings; what it says of others was read then.
    """
    yield from _entries(survey, messages.unsettled(survey))
    for entry in _entries(survey, messages.set_aside(survey)):
        yield replace(entry, needs=tuple(need for need in entry.needs if not need.mails))


def entry_of(survey: Survey, row: str) -> InboxEntry:
    """The entry with this number in the listing, or of the message whose identifier begins so.

    Raises
    ------
    UnknownError
        If the listing has no such row and no message begins so.
    """
    listed = entries(survey)
    if row.isdigit() and 1 <= int(row) <= len(listed):
        return listed[int(row) - 1]
    [entry] = _entries(survey, [messages.find(survey, row)])
    return entry


def count_of_cameras_asked_about(survey: Survey, rows: Sequence[int]) -> int:
    """How many of these messages are open for what was said of their camera in another."""
    found = facts_of(survey, [messages.by_row(survey, row) for row in rows])
    return sum(
        row.state == "open" and any(photo.carried_by for photo in facts.photos)
        for row, facts in found
    )


def _recognise_answers(survey: Survey, *, now: datetime) -> None:
    """Find messages that answer a question; their words become claims on what was asked about."""
    open_questions = {q.code: q for q in questions.live(survey) if q.answered_by is None}
    for row in messages.due(survey) if open_questions else ():
        code = answered(survey, row, open_questions.values()).code
        if not code:
            continue
        question = open_questions.pop(code)
        with survey.transaction():
            questions.answer(survey, code, row.row)
            note_consent_answer(survey, row, question.what)
    _read_anew(survey)


def note_consent_answer(
    survey: Survey, row: MessageRow, what: str, *, action: int | None = None
) -> None:
    """Keep what an answer plainly says of publishing; with ``action`` as long as it holds."""
    licence = survey.settings.publishing.asked_photo_licence
    text = messages.own_text(survey, row.row)
    said = consent_in_answer(text, what, licence=licence, names=[row.sender_name])
    if said is not None and row.sender is not None:
        consents.add(survey, row.sender, said, message=row.row, answers=True, action=action)


def open_of_senders(survey: Survey, addresses: Sequence[str]) -> list[str]:
    """Identifiers of the open messages of these senders.

    Raises
    ------
    UnknownError
        If none of them has an open message.
    """
    wanted = {address.strip().casefold() for address in addresses}
    senders = {p.row for p in people.all_people(survey) if wanted & set(p.addresses)}
    found = [
        row.identifier
        for row in messages.unsettled(survey)
        if row.sender in senders and row.state == "open"
    ]
    if not found:
        raise UnknownError(
            "no open message came from there",
            failing=", ".join(addresses),
            next_step="See 'triage inbox' and 'triage people'.",
        )
    return found


def kept_files(survey: Survey, identifier: str) -> list[tuple[str, str]]:
    """The kept files of a message: their names in the mail and where they lie."""
    message = messages.find(survey, identifier)
    found = []
    for part in messages.parts_of(survey, message.row):
        path = originals.path_of(survey.originals, part.sha256) if part.sha256 else None
        if path is not None:
            found.append((part.file_name or part.path, str(path)))
    return found


def facts_of(
    survey: Survey, rows: Sequence[MessageRow]
) -> Iterator[tuple[MessageRow, MessageFacts]]:
    """Each message with all that its state and its needs follow from."""
    asked = questions.live(survey)
    newest = {q.message: q for q in asked}
    answers = {q.answered_by: q for q in asked if q.answered_by is not None}
    heard = {q.message: row for row, q in answers.items()}
    waiting = [q for q in asked if q.answered_by is None]
    for start in range(0, len(rows), BATCH):
        batch = rows[start : start + BATCH]
        known = _load(survey, [row.row for row in batch], heard)
        for row in batch:
            texts = [known.texts.get(one, "") for one in (row.row, heard.get(row.row, 0))]
            private = next(filter(None, map(words_of_a_private_place, [row.subject, *texts])), "")
            found = photos_of(known, row.row, of_home=bool(private))
            question = newest.get(row.row)
            facts = MessageFacts(
                automatic=row.automatic,
                forgotten=row.origin == messages.ORIGIN_FORGOTTEN and not row.sender_address,
                hand_state=row.hand_state,
                hand_reason=row.hand_reason,
                hand_action=row.hand_action,
                asked=question is not None,
                answered=question is not None and question.answered_by is not None,
                answers=answers[row.row].code if row.row in answers else "",
                photos=tuple(found),
                needs=tuple(
                    _needs_of(survey, row, found, known, answers.get(row.row), waiting, private)
                ),
            )
            yield row, replace(facts, needs=not_settled_before(facts))


def _load(survey: Survey, rows: list[int], heard: Mapping[int, int]) -> Known:
    """What is known of these messages; ``heard`` are the answers about some of them."""
    shown = photos.appearances_of_messages(survey, rows)
    known = claims.exposures(survey, [one.photo for ones in shown.values() for one in ones])
    best_of, sites = known.best_of, evidence.sites(survey)
    return Known(
        shown=shown,
        photos=known,
        in_sightings={best_of[p] for p in grouping.sightings_by_photo(survey, best_of)},
        other_files=messages.other_files(survey, rows),
        texts=messages.texts_of(survey, [*rows, *(heard[one] for one in rows if one in heard)]),
        sites=[site.locality for site in sites],
        private_sites=[site for site in sites if site.private or site.sensitivity],
        photographers=photos.photographers_of(survey, best_of),
    )


def _needs_of(
    survey: Survey,
    row: MessageRow,
    found: Sequence[PhotoFacts],
    known: Known,
    question: QuestionRow | None,
    waiting: Sequence[QuestionRow],
    private: str,
) -> Iterable[Need]:
    text = known.texts.get(row.row, "")
    of_photos = _words_of_owners(survey, row, known) or text
    said = wording(row, text, known.sites, private=private, of_photos=of_photos)
    about_earlier = (not found or said.correction) and not row.automatic
    earlier = _earlier_mails(survey, row) if about_earlier else ()
    if not (earlier or corrects_in_a_known_form(said.correction)):
        said = replace(said, correction="")  # that are only like a correction, of nothing known
    if len(found) < 2 and not several_in_a_known_form(said.several):
        said = replace(said, several="")  # that are only like it, and nothing could be joined
    needs = needs_of(
        found,
        links=row.links,
        other_files=[
            f"{part.file_name or part.media_type} ({part.reason})"
            for part in known.other_files.get(row.row, ())
        ],
        least_odonate=survey.settings.sightings.least_odonate,
        said=replace(
            said,
            answers=question is not None,
            answered=() if question is None else (question.identifier,),
            may_answer=""
            if question is not None or found or not waiting
            else answered(survey, row, waiting).offered,
            earlier=earlier,
            told_above=_told_above(survey, row) if found and of_photos is not text else "",
            answer=_left_of_answer(survey, row, text, question, brings=bool(found)),
        ),
    )
    return with_camera_offer(row, needs, known, zone=survey.settings.survey.time_zone)


def _words_of_owners(survey: Survey, row: MessageRow, known: Known) -> str:
    """What those wrote whose photos a mail passes on; empty where it brings some of its own."""
    layers = {one.envelope for one in known.shown.get(row.row, ())}
    if not layers or 0 in layers:
        return ""
    passed_on = [one for one in messages.envelopes_of(survey, row.row) if one.number in layers]
    if not all(one.sender_address for one in passed_on):
        return ""
    return "\n".join(one.text for one in passed_on) or "."


def _told_above(survey: Survey, row: MessageRow) -> str:
    """The place or day told above a forwarded mail, where nobody is said there to have taken it."""
    own = messages.own_text(survey, row.row)
    return "" if another_took_it(own)[0] else claims.told_above_forwarded(survey, row.row)


def _earlier_mails(survey: Survey, row: MessageRow) -> tuple[str, ...]:
    """Mails with photos that the sender sent before: those of its thread first, then the newest."""
    if row.sender is None:
        return ()
    every = messages.of_sender(survey, row.sender)
    theirs = {one.row: one for one in every if one.row != row.row}
    with_photos = photos.appearances_of_messages(survey, theirs)
    sent = moment_of(row.sent_at)
    before = [
        one
        for one in map(theirs.__getitem__, with_photos)
        if sent is None or (at := moment_of(one.sent_at)) is None or at <= sent
    ]
    thread = {row.in_reply_to, *row.references} - {""}
    oldest = sorted(before, key=lambda one: (*earliest_first(one.sent_at), one.identifier))
    chosen = sorted(reversed(oldest), key=lambda one: one.message_id not in thread)
    return tuple(one.identifier for one in chosen[:EARLIER_SHOWN])


def _left_of_answer(
    survey: Survey, row: MessageRow, text: str, question: QuestionRow | None, *, brings: bool
) -> str:
    """What a person must read of an answer, with its words; empty if all of it was understood."""
    if question is None or (question.what == "original" and brings):
        return ""
    stated = claims.said_in_answer(survey, row.row, claims.surroundings(survey))
    if is_understood(text, question.what, stated, names=[row.sender_name]):
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
    """A question with the words of its draft, with none where that lies in the survey no more."""
    path = survey.replies / question.draft_name
    words = read_letter(path.read_bytes()).words if path.is_file() else ""
    return AskedQuestion(code=question.code, subject=question.subject, words=words)
