"""A Message in, lines that say what became of it and of every part of it out."""

from __future__ import annotations

from triage.mail.records import Envelope, Message, Part

_TEXT_SHOWN = 200  # characters of each author's text


def explain(message: Message) -> list[str]:
    """Account for a message: who wrote what, every part with its outcome, what was wrong.

    The lines hold names and words of the sender: they are for the screen of the coordinator,
    not for a log.
    """
    lines = [f"message {message.identifier}"]
    if message.message_id:
        lines.append(f"  Message-ID: {message.message_id}")
    if message.received_at:
        lines.append(f"  received: {message.received_at.isoformat()}")
    if message.automatic:
        lines.append(f"  written by a machine: {message.automatic}")
    for number, envelope in enumerate(message.envelopes):
        lines.extend(_envelope_lines(number, envelope))
    for part in message.parts:
        lines.append(_part_line(part, forwarded=len(message.envelopes) > 1))
    lines.extend(f"  link to pictures, not fetched: {link}" for link in message.links)
    lines.extend(f"  problem: {problem}" for problem in message.problems)
    return lines


def _envelope_lines(number: int, envelope: Envelope) -> list[str]:
    name = " ".join(word for word in (envelope.sender_name, envelope.sender_address) if word)
    moment = envelope.sent_at.isoformat() if envelope.sent_at else "no date"
    role = "from" if number == 0 else f"forwarded mail {number}, from"
    lines = [f"  {role}: {name or 'no sender'}, {moment}"]
    if envelope.subject:
        lines.append(f"    subject: {_short(envelope.subject)}")
    if envelope.text:
        lines.append(f"    wrote: {_short(envelope.text)}")
    if envelope.quoted_text:
        count = len(envelope.quoted_text.splitlines())
        lines.append(f"    quoted, not read for place or date: {count} lines")
    return lines


def _part_line(part: Part, *, forwarded: bool) -> str:
    name = f" {part.file_name}" if part.file_name else ""
    size = f", {len(part.content)} bytes" if part.content else ""
    whose = f", of forwarded mail {part.envelope}" if forwarded and part.envelope else ""
    return (
        f"  part {part.path}{name} ({part.media_type}{size}{whose}): {part.outcome}: {part.reason}"
    )


def _short(text: str) -> str:
    line = " ".join(text.split())
    return line if len(line) <= _TEXT_SHOWN else line[: _TEXT_SHOWN - 3] + "..."
