"""Puts a letter into an .eml that opens in a mail program as a draft. Nothing here sends mail.

References
----------
Resnick, P. (2008). Internet Message Format. RFC 5322 (section 3.6.4: In-Reply-To, References).
https://doi.org/10.17487/RFC5322
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from email import message_from_bytes, policy
from email.errors import MessageError
from email.headerregistry import Address
from email.message import EmailMessage
from email.utils import format_datetime

from triage.errors import TriageError
from triage.mail.header_words import without_answer_prefixes
from triage.standards.letters import any_phrase

SUBJECT_LENGTH = 200  # characters kept of somebody's subject
REFERENCES_KEPT = 20  # the first and the last; RFC 5322 sets no limit, mail servers do

_ADDRESS = re.compile(
    r"[^\s<>()\[\],;:\\\"@\x00-\x20\x7f]+@[A-Za-z0-9](?:[A-Za-z0-9.-]*[A-Za-z0-9])?"
)
_MESSAGE_ID = re.compile(r"<(?!.*=\?)[!-;=?-~]{1,500}>")  # visible ASCII, and no encoded word
_UNSEEN = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028\u2029\u200b-\u200f\u202a-\u202e\u2066-\u2069]+")


@dataclass(frozen=True, slots=True, kw_only=True)
class Addressee:
    """Whom a letter goes to and which mail of theirs it answers, as they wrote it: not trusted."""

    address: str
    name: str = ""
    subject: str = ""
    message_id: str = ""
    references: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A picture that goes along: a file name of ours and its bytes, PNG or JPEG."""

    name: str
    content: bytes


def draft(
    to: Addressee,
    body: str,
    *,
    from_name: str,
    from_address: str,
    message_id_left: str,
    now: datetime,
    subject: str = "",
    pictures: Sequence[Picture] = (),
) -> bytes:
    """The bytes of an .eml in RFC 5322 and UTF-8, marked as not yet sent (X-Unsent).

    Parameters
    ----------
    to : Addressee
        Its mail is answered in its thread where it has a Message-ID.
    message_id_left : str
        What stands before the @ of the draft's own Message-ID.
    subject : str
        Of a letter that is no answer; otherwise the subject of the mail with "Re:" before it.

    Raises
    ------
    TriageError
        If the recipient's or the survey's address is none.
    ValueError
        If ``now`` is naive.
    """
    if now.tzinfo is None:
        raise ValueError("a time without zone")
    recipient = _address(to.name, to.address)
    sender = _address(from_name, from_address)
    message = EmailMessage(policy=policy.SMTP)
    message["From"] = sender
    message["To"] = recipient
    message["Subject"] = one_line(subject)[:SUBJECT_LENGTH] or _answer_subject(to.subject)
    message["Date"] = format_datetime(now)
    message["Message-ID"] = f"<{message_id_left}@{sender.domain}>"
    threads = _thread(to)
    if threads:
        if _MESSAGE_ID.fullmatch(to.message_id.strip()):
            message["In-Reply-To"] = to.message_id.strip()
        message["References"] = " ".join(threads)
    message["X-Unsent"] = "1"
    message.set_content(body, cte="quoted-printable")
    for picture in pictures:
        kind = "png" if picture.content.startswith(b"\x89PNG") else "jpeg"
        message.add_attachment(picture.content, "image", kind, filename=picture.name)
    return message.as_bytes()


def one_line(text: str) -> str:
    """No line break, nothing invisible, and no encoded word (RFC 2047).

    The standard library decodes an encoded word that stands in a display name when it writes the
    header, line breaks inside it included: a header injection.
    """
    return " ".join(_UNSEEN.sub(" ", text).replace("=?", "= ?").split())


def _address(name: str, address: str) -> Address:
    """An address that cannot smuggle in a header line, a second recipient or a command."""
    bare = address.strip()
    try:
        if not _ADDRESS.fullmatch(bare):
            raise ValueError("not of the form name@domain")
        return Address(display_name=one_line(name)[:SUBJECT_LENGTH], addr_spec=bare)
    except (ValueError, IndexError, MessageError) as error:
        raise TriageError(
            "no reply can be drafted to or from this address",
            failing=one_line(address)[:SUBJECT_LENGTH] or "(empty address)",
            next_step="Write by hand, or correct the address of the person or the survey.",
        ) from error


def _answer_subject(subject: str) -> str:
    bare = without_answer_prefixes(one_line(subject))
    return " ".join(filter(None, ("Re:", bare[:SUBJECT_LENGTH])))


def _thread(to: Addressee) -> list[str]:
    """RFC 5322, 3.6.4: the parent's References, then the parent; malformed ones are dropped."""
    ids = [*to.references, to.message_id]
    sound = list(dict.fromkeys(i.strip() for i in ids if _MESSAGE_ID.fullmatch(i.strip())))
    return sound[:1] + sound[1:][-(REFERENCES_KEPT - 1) :]


def drafts_telling(
    drafts: Mapping[str, bytes], words: Collection[str], pictures: Collection[bytes]
) -> list[str]:
    """Names of the drafts in which one of these words or pictures stands."""
    pattern = re.compile(any_phrase(words, beside=r"\w-"), re.IGNORECASE)
    found = []
    for name, content in drafts.items():
        mail = message_from_bytes(content)
        parts = [one.get_payload(decode=True) for one in mail.walk() if not one.is_multipart()]
        told = [content, *(part for part in parts if isinstance(part, bytes))]
        text = " ".join(one.decode("utf-8", "replace") for one in told)
        if pattern.search(text) or any(part in pictures for part in told):
            found.append(name)
    return found
