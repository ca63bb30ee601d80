"""Bring the states of messages up to date, and list what needs a human."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from triage.errors import UnknownError
from triage.inbox import Need, order_of, state_of
from triage.mail.consent import Consent
from triage.mail.kept import MessageRow
from triage.pipeline import claims, message_facts, proposals
from triage.pipeline.message_facts import facts_of
from triage.replies.answers import read_answer
from triage.store import grouping, messages, originals, people, questions, text_reading
from triage.store.connection import Survey


@dataclass(frozen=True, slots=True, kw_only=True)
class InboxEntry:
    """A message that is open or waiting, with what it needs, its own words and its files."""

    message: MessageRow
    needs: tuple[Need, ...]
    words: str = ""
    files: tuple[str, ...] = ()


def settle_states(survey: Survey, *, now: datetime) -> int:
    """Derive the state of every message that is due; returns how many are open.

    Due are new messages and those of whose photos, questions or settling something changed.
    """
    _recognise_answers(survey, now=now)
    with survey.transaction():
        _derive_states(survey, now=now)
    return messages.count_open(survey)


def review_messages_of(survey: Survey, changed: Iterable[str], *, now: datetime) -> None:
    """Derive the states anew of messages whose photos changed, and of all that are due."""
    if claims.read_claims_of(survey, text_reading.texts_to_reread(survey)):
        proposals.propose(survey, now=now)
    messages.make_due(survey, sorted(grouping.messages_of_photos(survey, changed)))
    _derive_states(survey, now=now)


def _derive_states(survey: Survey, *, now: datetime) -> None:
    for row, facts in facts_of(survey, messages.due(survey)):
        messages.set_state(survey, row.row, *state_of(facts), now=now)


def entries(survey: Survey) -> list[InboxEntry]:
    """What needs a human, worst first; waiting messages come last."""
    return sorted(
        _entries(survey, messages.unsettled(survey)),
        key=lambda e: order_of(e.message.state, e.needs, e.message.sent_at, e.message.identifier),
    )


def _entries(survey: Survey, rows: Sequence[MessageRow]) -> Iterator[InboxEntry]:
    texts = text_reading.texts_of(survey, [row.row for row in rows])
    for row, facts in facts_of(survey, rows):
        yield InboxEntry(
            message=row,
            needs=facts.needs,
            words=texts.get(row.row, ""),
            files=tuple(photo.file_name for photo in facts.photos),
        )


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


def _recognise_answers(survey: Survey, *, now: datetime) -> None:
    """Find messages that answer a question; their words become claims on what was asked about."""
    open_questions = {q.code: q for q in questions.live(survey) if q.answered_by is None}
    for row in messages.due(survey) if open_questions else ():
        code = message_facts.answered(survey, row, open_questions.values()).code
        if not code:
            continue
        question = open_questions.pop(code)
        with survey.transaction():
            questions.answer(survey, code, row.row)
            note_consent_answer(survey, row, question.what)
    if claims.read_claims_of(survey, text_reading.texts_to_reread(survey)):
        proposals.propose(survey, now=now)


def note_consent_answer(
    survey: Survey, row: MessageRow, what: str, *, action: int | None = None
) -> None:
    """Keep what an answer plainly says of publishing; with ``action`` as long as it holds."""
    if row.sender is None or what not in ("publish", "name"):
        return
    text = "\n".join(envelope.text for envelope in messages.envelopes_of(survey, row.row)[:1])
    reading = read_answer(text, "publish" if what == "publish" else "name")
    if reading.answer == "unclear":
        return
    yes = reading.answer == "yes"
    asked_for = survey.settings.publishing.asked_photo_licence
    said = Consent(
        publish=reading.answer if what == "publish" else "unstated",
        name_shown=reading.answer if what == "name" else "unstated",
        licence=asked_for if yes and what == "publish" else "",
        wording=reading.wording,
    )
    people.add_consent(survey, row.sender, said, message=row.row, answers=True, action=action)


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
