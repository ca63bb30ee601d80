"""Sources of mail in, messages kept whole and every part accounted for out."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from triage.errors import SourceError
from triage.mail.consent import read_consent
from triage.mail.imap import ImapAccount, ImapPosition, iter_imap
from triage.mail.message import Limits, Message, file_as_message, raw_type, read_message
from triage.mail.sources import Delivery, iter_source, shown_name
from triage.pipeline.progress import Progress, silent
from triage.store import failures, mailboxes, messages, originals, people
from triage.store.connection import Survey

TEXT_SHOWN = 200  # characters of each author's subject and text in an account of a message


@dataclass(frozen=True, slots=True, kw_only=True)
class ReceiveOutcome:
    """What came in. ``parts`` counts new parts by their outcome; ``unreadable`` names origins."""

    received: int
    known_before: int
    photos: int
    parts: dict[str, int]
    unreadable: tuple[tuple[str, str], ...]


def take_in(
    survey: Survey, sources: Sequence[Path], *, now: datetime, progress: Progress = silent
) -> ReceiveOutcome:
    """Receive folders, mails, mailboxes and archives; what is known adds nothing.

    Raises
    ------
    SourceError
        If a source does not exist: nothing of the others is taken in before all are found.
    """
    for source in sources:
        if not source.exists():
            raise SourceError(
                "there is nothing at this path",
                failing=shown_name(source),
                next_step="Check the spelling; a folder, .eml, mbox, Maildir or .zip is expected.",
            )
    limits = limits_of(survey)
    return take_in_deliveries(
        survey,
        (delivery for source in sources for delivery in iter_source(source, limits=limits)),
        now=now,
        progress=progress,
    )


def limits_of(survey: Survey) -> Limits:
    """The limits on mail that the settings give."""
    return Limits(message_bytes=int(survey.settings.intake.max_message_megabytes * 1_000_000))


def take_in_deliveries(
    survey: Survey, deliveries: Iterable[Delivery], *, now: datetime, progress: Progress = silent
) -> ReceiveOutcome:
    """Receive what a source yields, one message a transaction, so that it can stop anywhere."""
    received = known = photos = 0
    parts: Counter[str] = Counter()
    unreadable: list[tuple[str, str]] = []
    limits = limits_of(survey)
    for number, delivery in enumerate(deliveries, 1):
        if delivery.kind == "unreadable":
            unreadable.append((delivery.origin, delivery.problem))
            failures.add(
                survey, stage="receive", subject=delivery.origin, reason=delivery.problem, now=now
            )
        else:
            message = _read(delivery, limits)
            if messages.known(survey, message.identifier):
                known += 1
            else:
                _keep(survey, delivery, message, now)
                received += 1
                parts.update(part.outcome for part in message.parts)
                photos += sum(part.outcome == "taken in" for part in message.parts)
        progress("receiving", number, None)
    return ReceiveOutcome(
        received=received,
        known_before=known,
        photos=photos,
        parts=dict(parts),
        unreadable=tuple(unreadable),
    )


def take_in_mailbox(
    survey: Survey, account: ImapAccount, *, now: datetime, progress: Progress = silent
) -> ReceiveOutcome:
    """Receive what is new in a mailbox on a server; nothing there is changed.

    The position is noted after each mail that was kept, so that an interruption costs at most
    one mail, read again and recognised.
    """
    name = f"{account.user}@{account.host}"
    before = mailboxes.position(survey, name, account.mailbox)
    after = ImapPosition(uid_validity=before[0], uid=before[1]) if before else None

    def noted() -> Iterator[Delivery]:
        for position, delivery in iter_imap(account, after=after, limits=limits_of(survey)):
            yield delivery
            mailboxes.set_position(
                survey, name, account.mailbox, position.uid_validity, position.uid
            )

    return take_in_deliveries(survey, noted(), now=now, progress=progress)


def _read(delivery: Delivery, limits: Limits) -> Message:
    if delivery.kind == "file":
        return file_as_message(delivery.name, delivery.raw)
    return read_message(delivery.raw, limits=limits)


def _keep(survey: Survey, delivery: Delivery, message: Message, now: datetime) -> None:
    """Files first, rows after: a row never names a file that is not whole on the disk."""
    if delivery.kind == "message":
        originals.keep(survey.messages, delivery.raw, media_type=raw_type(delivery.raw))
    kept = [
        originals.keep(survey.originals, part.content, media_type=part.media_type)
        if part.content
        else ""
        for part in message.parts
    ]
    with survey.transaction():
        row = messages.add(
            survey, message, origin=delivery.origin, raw_name=delivery.name, kept=kept, now=now
        )
        _note_consent(survey, message, row)


def _note_consent(survey: Survey, message: Message, row: int) -> None:
    for envelope in message.envelopes:
        consent = read_consent(envelope.text)
        person = people.by_address(survey, envelope.sender_address, name=envelope.sender_name)
        if person is None or not consent.wording:
            continue
        people.add_consent(
            survey,
            person,
            publish=consent.publish,
            name_public=consent.name_shown == "yes",
            licence=consent.licence,
            wording=consent.wording,
            message=row,
        )


def explain(survey: Survey, identifier: str) -> list[str]:
    """Account for a message as it is kept: who wrote what, what became of every part, a line each.

    The lines hold names and words of the sender: they are for the coordinator, not for a log.

    Raises
    ------
    UnknownError
        If none or several messages begin so.
    """
    message = messages.find(survey, identifier)
    envelopes = messages.envelopes_of(survey, message.row)
    facts = (
        ("Message-ID", message.message_id),
        ("received", message.received_at),
        ("written by a machine", message.automatic),
    )
    return [
        f"message {message.identifier[:12]} from {message.origin}: {message.state}"
        f" ({message.state_reason})",
        *(f"  {what}: {value}" for what, value in facts if value),
        *(line for envelope in envelopes for line in _envelope_lines(envelope)),
        *(_part_line(part) for part in messages.parts_of(survey, message.row)),
        *(f"  link, not followed: {link}" for link in message.links),
        *(f"  note: {problem}" for problem in message.problems),
    ]


def _envelope_lines(envelope: messages.EnvelopeRow) -> Iterator[str]:
    sender = f"{envelope.sender_name} {envelope.sender_address}".strip() or "no sender"
    role = f"forwarded mail {envelope.number}, from" if envelope.number else "from"
    yield f"  {role}: {sender}, {envelope.sent_at or 'no date'}"
    if envelope.subject:
        yield f"    subject: {_start_of(envelope.subject)}"
    if envelope.text:
        yield f"    wrote: {_start_of(envelope.text)}"
    if envelope.quoted_text:
        count = len(envelope.quoted_text.splitlines())
        yield f"    quoted, not read for place or date: {count} line{'s' * (count > 1)}"


def _part_line(part: messages.PartRow) -> str:
    name = f" {part.file_name}" if part.file_name else ""
    size = f", {part.byte_size} bytes" if part.byte_size else ""
    whose = f", of forwarded mail {part.envelope}" if part.envelope else ""
    return (
        f"  part {part.path}{name} ({part.media_type}{size}{whose}): {part.outcome}: {part.reason}"
    )


def _start_of(text: str) -> str:
    line = " ".join(text.split())
    return line if len(line) <= TEXT_SHOWN else line[: TEXT_SHOWN - 3] + "..."
