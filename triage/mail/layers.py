"""Make the envelopes of the authors of one mail inside a message."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from datetime import datetime

from triage.mail.authorship import divide_text
from triage.mail.headers import Headers, read_address, read_date
from triage.mail.records import Envelope
from triage.mail.written_dates import read_written_date

_VIA = re.compile(r"(?i)^(.{1,200}?) (?:via|über|durch|przez) .+$")
_LIST_FIELDS = ("list-id", "list-post", "list-unsubscribe", "x-original-from", "mailing-list")


@dataclass(slots=True, kw_only=True)
class Layer:
    """One mail inside the message, before its text is divided among its authors."""

    headers: Headers
    texts: list[str] = field(default_factory=list)
    links: list[str] = field(default_factory=list)
    shown_ids: set[str] = field(default_factory=set)


@dataclass(slots=True)
class Choice:
    """The same text in several forms, of which one is read (RFC 2046 section 5.1.4)."""

    plain: list[str] = field(default_factory=list)
    html: list[str] = field(default_factory=list)

    def plain_says(self) -> bool:
        """Tell whether the plain text is the letter; some programs send a stub in its place."""
        plain, marked_up = "\n".join(self.plain).strip(), "\n".join(self.html).strip()
        stub = len(plain) < 100 and len(marked_up) > 3 * len(plain) and "html" in plain.lower()
        return bool(plain) and not stub

    def best(self) -> str:
        """Return the text of the form that is read."""
        return "\n".join(self.plain if self.plain_says() or not self.html else self.html)


def sender_of(headers: Headers) -> tuple[str, str]:
    """Return name and address of the author, from the first field that states one.

    Mailing lists often put their own address into From and name the author elsewhere.
    """
    behind_list = _author_behind_list(headers)
    if behind_list[1]:
        return behind_list
    for name in ("from", "sender", "reply-to", "return-path"):
        shown, address = read_address(headers.first(name))
        if address:
            return shown, address
    return read_address(headers.first("from"))


def sent_at_of(headers: Headers) -> datetime | None:
    """Return when the mail was sent, from its Date in the standard's form or a readable one."""
    value = headers.first("date")
    return read_date(value) or read_written_date(value)


def _author_behind_list(headers: Headers) -> tuple[str, str]:
    name, listed = read_address(headers.first("from"))
    via = _VIA.match(name)
    if not via or not any(headers.first(listed_by) for listed_by in _LIST_FIELDS):
        return "", ""
    for elsewhere in ("x-original-from", "x-original-sender", "reply-to"):
        address = read_address(headers.first(elsewhere))[1]
        if address and address != listed:
            return via[1].strip(" '\""), address
    return "", ""


def envelopes_of(layer: Layer) -> list[Envelope]:
    """Divide the texts of one mail among its authors, the sender of the mail first."""
    headers = layer.headers
    name, address = sender_of(headers)
    subject = headers.text("subject")
    outer, *inner = divide_text(
        "\n\n".join(layer.texts), subject=subject, answers=bool(headers.first("in-reply-to"))
    )
    first = replace(
        outer,
        sender_name=name,
        sender_address=address,
        sent_at=sent_at_of(headers),
        subject=subject,
    )
    return [first, *inner]
