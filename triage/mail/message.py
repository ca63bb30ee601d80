"""Read the bytes of one mail into a Message with every part accounted for."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from triage.analysis.media_types import describe_media_type, is_picture, sniff_media_type
from triage.mail.automatic import classify_automatic, distribution_of, is_reply_by_subject
from triage.mail.file_names import safe_file_name
from triage.mail.headers import Headers, read_date, read_identifiers
from triage.mail.identity import file_identifier, mail_identifier
from triage.mail.layers import sent_at_of
from triage.mail.limits import Limits
from triage.mail.opening import Opening
from triage.mail.outlook import read_outlook_message
from triage.mail.records import Automatic, Envelope, Message, Part, PartOutcome
from triage.mail.structure import read_structure
from triage.standards.digests import digest_of

__all__ = [
    "Automatic",
    "Envelope",
    "Limits",
    "Message",
    "Part",
    "PartOutcome",
    "file_as_message",
    "raw_type",
    "read_message",
]

_BYTE_ORDER_MARK = b"\xef\xbb\xbf"
DEFAULT_LIMITS = Limits()


def read_message(raw: bytes, *, limits: Limits = DEFAULT_LIMITS) -> Message:
    """Read one mail, .msg files included. What is broken is named in ``problems``, never raised."""
    opening = Opening(limits=limits)
    if raw_type(raw) == "application/vnd.ms-outlook":
        mail = read_outlook_message(raw, limits=limits)
        opening.open_outlook(mail, "", opening.new_layer(mail.headers), 0)
        if not opening.parts:
            opening.add_whole(raw, "an Outlook message in which nothing could be read")
        return _assembled(raw, mail.headers, opening, "")
    start = len(_BYTE_ORDER_MARK) if raw.startswith(_BYTE_ORDER_MARK) else 0
    entity = read_structure(raw, start=start, limits=limits, problems=opening.problems)
    automatic = classify_automatic(entity)
    opening.bounced = automatic == "bounce"
    opening.open_mail(entity, 0)
    return _assembled(raw, entity.headers, opening, automatic)


def raw_type(raw: bytes) -> str:
    """The media type of a mail as it came: an Outlook message, or one of RFC 5322."""
    outlook = sniff_media_type(raw) == "application/x-ole-storage"
    return "application/vnd.ms-outlook" if outlook else "message/rfc822"


def file_as_message(name: str, content: bytes) -> Message:
    """Present one loose photo file as a mail without sender, text or date."""
    shown = safe_file_name(name)
    media_type = sniff_media_type(content, file_name=shown)
    outcome: PartOutcome = "taken in" if is_picture(media_type) else "kept, other kind"
    words = describe_media_type(media_type)
    digest = digest_of(content)
    part = Part(
        path="1",
        envelope=0,
        file_name=shown,
        declared_type="",
        media_type=media_type,
        outcome=outcome,
        reason="a photo file" if outcome == "taken in" else f"{words}; not examined",
        content=content,
        digest=digest,
    )
    return Message(
        identifier=file_identifier(name=shown, content_digest=digest),
        raw_sha256=digest,
        envelopes=(Envelope(),),
        parts=(part,),
    )


def _assembled(raw: bytes, headers: Headers, opening: Opening, automatic: Automatic) -> Message:
    envelopes, parts, links = opening.finished()
    if not automatic and is_reply_by_subject(envelopes[0].subject) and not _brings(parts):
        automatic = "auto-reply"
    message_id = next(iter(read_identifiers(headers.first("message-id"))), "")
    return Message(
        identifier=mail_identifier(
            message_id=message_id,
            sender=envelopes[0].sender_address,
            sent_at=envelopes[0].sent_at,
            digests=opening.digests,
        ),
        raw_sha256=digest_of(raw),
        message_id=message_id,
        in_reply_to=next(iter(read_identifiers(headers.first("in-reply-to"))), ""),
        references=read_identifiers(headers.first("references"))[:200],
        envelopes=envelopes,
        received_at=_received_at(headers),
        automatic=automatic,
        distribution="" if automatic else distribution_of(headers),
        links=links[:200],
        parts=parts,
        problems=tuple(dict.fromkeys([*_header_problems(headers), *opening.problems])),
    )


def _brings(parts: Sequence[Part]) -> bool:
    """Whether a mail brings a picture: machines that reply bring none."""
    return any(part.outcome == "taken in" for part in parts)


def _received_at(headers: Headers) -> datetime | None:
    """Return the time of the last hop, which stands topmost (RFC 5321 section 4.4)."""
    for value in headers.all("received"):
        moment = read_date(value.rpartition(";")[2])
        if moment is not None:
            return moment
    return None


def _header_problems(headers: Headers) -> list[str]:
    problems = []
    if not headers.first("message-id"):
        problems.append("the mail has no Message-ID")
    if not headers.first("from"):
        problems.append("the mail names no sender in From")
    date = headers.first("date")
    if not date:
        problems.append("the mail has no Date")
    elif sent_at_of(headers) is None:
        problems.append("the Date of the mail cannot be read")
    return problems
