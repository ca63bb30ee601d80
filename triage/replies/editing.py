"""Read the words of a drafted letter, and put other words in their place; its headers stay."""

from __future__ import annotations

from dataclasses import dataclass
from email import message_from_bytes, policy
from email.message import EmailMessage

LETTER_LENGTH = 20_000  # characters: ten pages; more is no question


@dataclass(frozen=True, slots=True, kw_only=True)
class Letter:
    """A drafted letter as it is shown; ``pictures`` are the names and files of what it brings."""

    to: str
    subject: str
    words: str
    pictures: tuple[tuple[str, bytes], ...] = ()


def read_letter(draft: bytes) -> Letter:
    """What a draft says, to whom."""
    parsed = _parsed(draft)
    body = parsed.get_body(("plain",))
    return Letter(
        to=str(parsed["To"] or ""),
        subject=str(parsed["Subject"] or ""),
        words=body.get_content() if body is not None else "",
        pictures=tuple(
            (part.get_filename() or "", part.get_content())
            for part in parsed.iter_attachments()
            if part.get_content_maintype() == "image"
        ),
    )


def with_words(draft: bytes, words: str) -> bytes:
    """The draft with other words; recipient, subject and the marks that tell its answer stay."""
    parsed = _parsed(draft)
    body = parsed.get_body(("plain",)) or parsed
    body.set_content("\n".join(words[:LETTER_LENGTH].splitlines()) + "\n")
    return parsed.as_bytes()


def _parsed(draft: bytes) -> EmailMessage:
    parsed = message_from_bytes(draft, policy=policy.SMTP)
    if not isinstance(parsed, EmailMessage):
        raise TypeError("a draft is read with a policy that makes an EmailMessage")
    return parsed
