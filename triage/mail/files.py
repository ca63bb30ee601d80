"""Decide what a file found in a mail is, and what becomes of it."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field

from triage.analysis.media_types import (
    UNKNOWN_TYPE,
    describe_media_type,
    is_picture,
    sniff_media_type,
)
from triage.mail.archives import Unpacked, unpack_zip, zip_document_type
from triage.mail.documents import DOCUMENT_TYPES, photos_in_document
from triage.mail.limits import MEBIBYTE, Limits
from triage.mail.outlook import OutlookMail, read_outlook_message, read_winmail
from triage.mail.pictures import judge_picture
from triage.mail.records import PartOutcome
from triage.mail.smime import ENCRYPTED, read_smime
from triage.standards.counting import counted

_SIGNATURES = frozenset(
    {
        "application/pgp-signature",
        "application/pkcs7-signature",
        "application/x-pkcs7-signature",
        "application/pgp-keys",
    }
)
_REPORTS = frozenset(
    {
        "message/delivery-status",
        "message/global-delivery-status",
        "message/disposition-notification",
        "message/feedback-report",
        "text/rfc822-headers",
    }
)
_NOT_NEEDED = {
    "application/smil": "the layout of a picture message",
    "text/calendar": "a calendar entry",
    "text/vcard": "a contact card",
    "text/x-vcard": "a contact card",
    "text/directory": "a contact card",
}
_SMIME = frozenset({"application/pkcs7-mime", "application/x-pkcs7-mime"})
_CLOSED_ARCHIVES = frozenset(
    {
        "application/vnd.rar",
        "application/x-7z-compressed",
        "application/gzip",
        "application/x-bzip2",
        "application/x-xz",
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundFile:
    """A file at one place in the message, before anyone has looked at what it is."""

    path: str
    layer: int
    name: str
    declared_type: str
    content: bytes = field(repr=False)
    digest: str = ""  # of the content, where it was taken already
    inline: bool = False
    depth: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """What a file is. A container has ``files``, ``outlook`` or ``signed`` still to be opened."""

    media_type: str
    outcome: PartOutcome
    reason: str
    files: Iterable[Unpacked] | None = None
    outlook: OutlookMail | None = None
    signed: bytes = field(repr=False, default=b"")


def judge_file(found: FoundFile, *, limits: Limits, budget: int) -> Verdict:
    """Say what a file is and what becomes of it; ``budget`` bounds what may be unpacked."""
    content, declared = found.content, found.declared_type
    media_type = sniff_media_type(content, file_name=found.name)
    if media_type == "application/zip":
        media_type = zip_document_type(content)
    if not content:
        return _nothing(media_type, "an empty file")
    if len(content) > limits.file_bytes:
        allowed = limits.file_bytes // MEBIBYTE
        return _kept(media_type, f"larger than {allowed} MiB; not opened")
    if is_picture(media_type):
        outcome, reason = judge_picture(
            content, media_type=media_type, file_name=found.name, inline=found.inline
        )
        return Verdict(media_type=media_type, outcome=outcome, reason=reason)
    if declared in _SIGNATURES:
        return _nothing(declared, "a digital signature")
    if declared in _REPORTS:
        return _nothing(declared, "a delivery report, read")
    if declared in _NOT_NEEDED and media_type == UNKNOWN_TYPE:
        return _nothing(declared, _NOT_NEEDED[declared])
    return _container(found, media_type, limits, budget) or _other(found, media_type, limits)


def _container(found: FoundFile, media_type: str, limits: Limits, budget: int) -> Verdict | None:
    """Recognise what has files or mails inside, or return None."""
    content = found.content
    if media_type == "application/zip":
        return Verdict(
            media_type=media_type,
            outcome="nothing to keep",
            reason="a zip archive",
            files=unpack_zip(content, limits=limits, budget=budget),
        )
    if media_type == "application/ms-tnef":
        return _outlook(media_type, "an Outlook winmail.dat", read_winmail(content))
    if media_type == "application/x-ole-storage" and _is_outlook_message(content):
        mail = read_outlook_message(content, limits=limits)
        return _outlook("application/vnd.ms-outlook", "an Outlook message", mail)
    if media_type == "application/applefile":
        return _nothing(media_type, "the Macintosh resource fork of the file beside it")
    if found.declared_type in _SMIME or found.name.lower().endswith((".p7m", ".p7s")):
        return _smime(content)
    return None


def _other(found: FoundFile, media_type: str, limits: Limits) -> Verdict:
    """Describe what is kept and not examined, with what the coordinator can do about it."""
    declared = found.declared_type
    if media_type in DOCUMENT_TYPES:
        photos = len(photos_in_document(found.content, media_type, limits=limits))
        words = describe_media_type(media_type)
        if photos:
            held = counted(photos, "photo")
            return _kept(media_type, f"{words} with {held} inside, which can be taken out")
        return _kept(media_type, f"{words} without photos inside; not examined")
    if media_type in _CLOSED_ARCHIVES:
        words = describe_media_type(media_type)
        return _kept(media_type, f"{words}; not opened, ask the sender for the photos or a zip")
    if declared in ("application/pgp-encrypted", "application/x-pgp-encrypted"):
        return _kept(declared, ENCRYPTED)
    if found.content.lstrip()[:27] == b"-----BEGIN PGP MESSAGE-----":
        return _kept("application/pgp-encrypted", ENCRYPTED)
    if declared == "message/partial":
        return _kept(declared, "one piece of a mail that was sent in pieces; ask for it whole")
    if declared == "message/external-body":
        return _nothing(declared, "only a reference to a file elsewhere, never fetched")
    if media_type == UNKNOWN_TYPE and declared.startswith("text/"):
        return _kept(declared, "a text file; not examined")
    if media_type == UNKNOWN_TYPE and declared.startswith("image/"):
        return _kept(media_type, "declared a picture, but its bytes are none that is known")
    return _kept(media_type, f"{describe_media_type(media_type)}; not examined")


def _outlook(media_type: str, words: str, mail: OutlookMail) -> Verdict:
    return Verdict(media_type=media_type, outcome="nothing to keep", reason=words, outlook=mail)


def _smime(content: bytes) -> Verdict:
    media_type = "application/pkcs7-mime"
    signed = read_smime(content)
    if signed.problem:
        return _kept(media_type, signed.problem)
    return Verdict(
        media_type=media_type,
        outcome="nothing to keep",
        reason="a signed mail, opened below; the signature is not verified",
        signed=signed.content,
    )


def is_attached_mail(found: FoundFile) -> bool:
    """Tell a mail that was attached as a file, .eml, by its name and its first header."""
    head = found.content[:4096]
    return (
        found.name.lower().endswith(".eml")
        and sniff_media_type(head) == UNKNOWN_TYPE
        and bool(re.match(rb"\s*[!-9;-~]{1,80}[ \t]*:", head))
    )


def _is_outlook_message(content: bytes) -> bool:
    """Tell a .msg from other compound files by the name of its property stream, in UTF-16."""
    return "__properties_version1.0".encode("utf-16-le") in content


def _nothing(media_type: str, reason: str) -> Verdict:
    return Verdict(media_type=media_type, outcome="nothing to keep", reason=reason)


def _kept(media_type: str, reason: str) -> Verdict:
    return Verdict(media_type=media_type, outcome="kept, other kind", reason=reason)
