"""Messages, their layers, their parts and the photos in them, as a survey keeps them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from triage.standards.iso_dates import earliest_first


@dataclass(frozen=True, slots=True, kw_only=True)
class MessageRow:
    """A message as the survey keeps it; times are ISO text with the offset as sent."""

    row: int
    identifier: str
    message_id: str
    sender: int | None
    sender_name: str
    sender_address: str
    sent_at: str
    received_at: str
    subject: str
    automatic: str
    distribution: str
    links: tuple[str, ...]
    problems: tuple[str, ...]
    origin: str
    in_reply_to: str
    references: tuple[str, ...]
    state: str
    state_reason: str
    state_by_hand: bool
    hand_state: str = ""
    hand_reason: str = ""
    hand_action: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class PartRow:
    """One part as kept: what it was, what became of it, and the digest if anything was kept."""

    row: int
    message: int
    path: str
    envelope: int
    file_name: str
    declared_type: str
    media_type: str
    outcome: str
    reason: str
    sha256: str
    byte_size: int


@dataclass(frozen=True, slots=True, kw_only=True)
class EnvelopeRow:
    """One layer of a message as kept."""

    message: int
    number: int
    sender_name: str
    sender_address: str
    sent_at: str
    subject: str
    text: str
    quoted_text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AppearanceRow:
    """A photo in a message: who sent it, when, under which file name.

    ``received`` is when the message was received or, that unknown, sent.
    """

    part: int
    message: int
    message_identifier: str
    photo: str
    file_name: str
    path: str
    envelope: int
    person: int | None
    sent_at: str
    received: str

    @property
    def order(self) -> tuple[bool, datetime, str, int]:
        """What appearances are sorted by: as they arrived, whenever the mails were read."""
        return *earliest_first(self.received), self.message_identifier, self.part
