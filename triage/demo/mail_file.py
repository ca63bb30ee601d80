"""Writes letters with their attachments as mail programs do."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from email import policy
from email.message import EmailMessage
from email.utils import format_datetime
from zoneinfo import ZoneInfo

from triage.demo.scenario import PEOPLE, SURVEY_ADDRESS, ZONE, Letter

_POLICY = policy.SMTP


@dataclass(frozen=True, slots=True, kw_only=True)
class Attachment:
    """One file in a mail."""

    file_name: str
    content: bytes
    declared: str
    inline: bool = False


def compose(letter: Letter, attachments: dict[str, list[Attachment]]) -> EmailMessage:
    """Write one letter as a mail; ``attachments`` holds the files of each letter by its key."""
    mail = _compose(letter, attachments)
    for number, part in enumerate(p for p in mail.walk() if p.is_multipart()):
        if part.get_content_maintype() == "multipart":
            part.set_boundary(f"=_linnet_{letter.key}_{number}")
    return mail


def _compose(letter: Letter, attachments: dict[str, list[Attachment]]) -> EmailMessage:
    mail = EmailMessage(policy=_POLICY)
    sender = PEOPLE[letter.sender]
    mail["From"] = (
        sender.mailbox()
        if letter.automatic != "bounce"
        else ("Mail Delivery System <mailer-daemon@example.org>")
    )
    mail["To"] = f"Linnet Water Survey <{SURVEY_ADDRESS}>"
    mail["Date"] = format_datetime(_aware(letter.day))
    mail["Subject"] = letter.subject
    mail["Message-ID"] = letter.identifier()
    if letter.in_reply_to:
        mail["In-Reply-To"] = mail["References"] = letter.in_reply_to
    if letter.automatic == "auto-reply":
        mail["Auto-Submitted"] = "auto-replied"
    if letter.automatic == "bounce":
        return _bounce(mail, letter)
    if letter.html:
        mail.set_content(letter.html, subtype="html", cte="quoted-printable")
    else:
        mail.set_content(letter.text, cte="quoted-printable")
    files = attachments.get(letter.key, [])
    if letter.zipped:
        files = [
            Attachment(
                file_name=letter.zipped, content=_zip(files, letter.day), declared="application/zip"
            )
        ]
    for file in files:
        maintype, subtype = file.declared.split("/")
        if file.inline:
            mail.add_related(
                file.content,
                maintype,
                subtype,
                cid=f"<{file.file_name}>",
                filename=file.file_name,
                disposition="inline",
            )
    for file in files:
        maintype, subtype = file.declared.split("/")
        if not file.inline:
            mail.add_attachment(file.content, maintype, subtype, filename=file.file_name)
    for inner in letter.forwards:
        mail.add_attachment(_compose(inner, attachments))
    return mail


def _bounce(mail: EmailMessage, letter: Letter) -> EmailMessage:
    """Write a delivery report (RFC 3464)."""
    mail.add_header("Auto-Submitted", "auto-replied")
    mail.set_content(letter.text)
    mail.make_mixed()
    mail.replace_header("Content-Type", 'multipart/report; report-type="delivery-status"')
    status = EmailMessage(policy=_POLICY)
    status["Content-Type"] = "message/delivery-status"
    about_mail, about_receiver = EmailMessage(policy=_POLICY), EmailMessage(policy=_POLICY)
    about_mail["Reporting-MTA"] = "dns; mail.example.org"
    about_receiver["Final-Recipient"] = "rfc822; nobody.there@example.org"
    about_receiver["Action"] = "failed"
    about_receiver["Status"] = "5.1.1"
    status.set_payload([about_mail, about_receiver])
    mail.attach(status)
    return mail


def _zip(files: Iterable[Attachment], day: datetime) -> bytes:
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_STORED) as archive:
        for file in files:
            member = zipfile.ZipInfo(file.file_name, date_time=day.timetuple()[:6])
            member.create_system = 3
            archive.writestr(member, file.content)
    return target.getvalue()


def as_mbox(mails: Iterable[tuple[datetime, EmailMessage]]) -> bytes:
    """Join mails into one mbox file, lines that begin with "From " quoted (the mboxrd form)."""
    parts = []
    for day, mail in mails:
        utc = _aware(day).astimezone(ZoneInfo("UTC"))
        parts.append(f"From linnet {utc:%a %b %d %H:%M:%S %Y}\n".encode("ascii"))
        body = mail.as_bytes(policy=_POLICY.clone(linesep="\n"))
        for line in body.splitlines(keepends=True):
            quoted = line.lstrip(b">").startswith(b"From ")
            parts.append(b">" + line if quoted else line)
        parts.append(b"\n")
    return b"".join(parts)


def _aware(day: datetime) -> datetime:
    return day.replace(tzinfo=ZoneInfo(ZONE))
