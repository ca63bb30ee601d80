"""The records that mail becomes: Message, its Envelopes (who wrote what) and its Parts."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal

PartOutcome = Literal["taken in", "kept, not examined", "kept, other kind", "nothing to keep"]
"""What became of a part: a picture to examine, a picture that is none of ours (logo, tracking
pixel), a file of a kind that is not examined (video, raw camera file, document), or nothing."""

Automatic = Literal["", "bounce", "auto-reply"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Envelope:
    """One layer of a message: the outer mail is number 0, each forwarded mail inside follows.

    ``sent_at`` is aware where the header states a zone, naive where it says ``-0000``.
    ``text`` is what this author wrote: quoted lines, signature and footers removed.
    """

    sender_name: str = ""
    sender_address: str = ""
    sent_at: datetime | None = None
    subject: str = ""
    text: str = ""
    quoted_text: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One part of a message, or one file inside an archive that it carries.

    ``path`` is the place in the message, such as ``1.2`` or ``1.3/photos.zip/IMG_1.jpg``.
    ``media_type`` is decided by the bytes, whatever the sender declared.
    ``content`` is empty when there is nothing to keep. ``digest`` is the file's where
    reading the message took it, else empty.
    """

    path: str
    envelope: int
    file_name: str
    declared_type: str
    media_type: str
    outcome: PartOutcome
    reason: str
    content: bytes = field(repr=False, default=b"")
    digest: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Message:
    """One mail, or one loose photo file presented as a mail without sender.

    ``identifier`` (32 hexadecimal digits) is derived from the content, so that the same mail
    through mbox, IMAP and .eml is one message.
    """

    identifier: str
    raw_sha256: str
    message_id: str = ""
    in_reply_to: str = ""
    references: tuple[str, ...] = ()
    envelopes: tuple[Envelope, ...]
    received_at: datetime | None = None
    automatic: Automatic = ""
    distribution: str = ""  # the list or bulk mailing through which it reached many at once
    links: tuple[str, ...] = ()
    parts: tuple[Part, ...] = ()
    problems: tuple[str, ...] = ()
