"""Say of one message who wrote what and what became of every part, a line each."""

from __future__ import annotations

from collections.abc import Iterator

from triage.inbox.facts import shortened
from triage.mail.kept import EnvelopeRow, PartRow
from triage.standards.counting import counted
from triage.store import messages
from triage.store.connection import Survey


def account_of(survey: Survey, identifier: str) -> list[str]:
    """The lines for the coordinator; they hold names and words of the sender: not for a log.

    Raises
    ------
    UnknownError
        If none or several messages begin like that.
    """
    message = messages.find(survey, identifier)
    facts = (
        ("Message-ID", message.message_id),
        ("received", message.received_at),
        ("written by a machine", message.automatic),
    )
    return [
        f"message {message.identifier[:12]} from {message.origin}: {message.state}"
        f" ({message.state_reason})",
        *(f"  {what}: {value}" for what, value in facts if value),
        *(
            line
            for envelope in messages.envelopes_of(survey, message.row)
            for line in _envelope_lines(envelope)
        ),
        *(_part_line(part) for part in messages.parts_of(survey, message.row)),
        *(f"  link, not followed: {link}" for link in message.links),
        *(f"  note: {problem}" for problem in message.problems),
    ]


def _envelope_lines(envelope: EnvelopeRow) -> Iterator[str]:
    sender = f"{envelope.sender_name} {envelope.sender_address}".strip() or "no sender"
    role = f"forwarded mail {envelope.number}, from" if envelope.number else "from"
    yield f"  {role}: {sender}, {envelope.sent_at or 'no date'}"
    if envelope.subject:
        yield f"    subject: {shortened(envelope.subject)}"
    if envelope.text:
        yield f"    wrote: {shortened(envelope.text)}"
    if envelope.quoted_text:
        count = counted(len(envelope.quoted_text.splitlines()), "line")
        yield f"    quoted, not read for place or date: {count}"


def _part_line(part: PartRow) -> str:
    name = f" {part.file_name}" if part.file_name else ""
    size = f", {part.byte_size} bytes" if part.byte_size else ""
    whose = f", of forwarded mail {part.envelope}" if part.envelope else ""
    return (
        f"  part {part.path}{name} ({part.media_type}{size}{whose}): {part.outcome}: {part.reason}"
    )
