"""Decode the fields of a header block (names, dates, addresses, parameters).

RFC 5322 (fields, folding, dates, addresses), RFC 2047 (encoded words), RFC 2231 (parameters in
pieces and charsets), RFC 6532 (raw UTF-8). Nothing here raises on hostile bytes.
"""

from __future__ import annotations

import binascii
import email.utils
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from triage.mail.charsets import decode_text
from triage.standards.iso_dates import within_the_calendar

FIELD_CHARACTERS = 20_000  # of one field; longer ones are cut, real ones stay far below
FIELD_COUNT = 2_000
# Kept behind any number of others: without them no part and no sender is found.
_NEEDED = re.compile(
    "content-type|content-transfer-encoding|content-disposition|from|to|date|message-id|subject"
    "|in-reply-to|references"
)

LINE_END = re.compile(rb"\r*\n|\r")
"""The end of a line as mail programs write it, a bare carriage return too."""

_FIELD = re.compile(rb"([!-9;-~]{1,200})[ \t]*:[ \t]*")
_ENCODED_WORD = re.compile(r"=\?([\w!#$%&'*+.:^`{|}~-]{1,60})\?([BbQq])\?([^?\r\n]*)\?=")
_BETWEEN_WORDS = re.compile(r"(\?=)\s+(?==\?[\w!#$%&'*+.:^`{|}~-]{1,60}\?[BbQq]\?)")
_PARAMETER_NAME = re.compile(r'\s*([^\s=;"]{1,80})\s*=\s*')
_QUOTED = re.compile(r'"(?:[^"\\]|\\.)*"')


@dataclass(frozen=True, slots=True)
class Headers:
    """The fields of one header block in their order, values unfolded but not yet decoded."""

    fields: tuple[tuple[str, str], ...] = ()

    def first(self, name: str) -> str:
        """Return the raw value of the first field of this name, or an empty text."""
        wanted = name.lower()
        return next((value for field, value in self.fields if field == wanted), "")

    def all(self, name: str) -> list[str]:
        """Return the raw values of all fields of this name, in order."""
        wanted = name.lower()
        return [value for field, value in self.fields if field == wanted]

    def text(self, name: str) -> str:
        """Return the decoded value of the first field of this name, on one line."""
        return decode_words(self.first(name))


def split_header_block(raw: bytes, start: int, end: int) -> tuple[Headers, int, bool]:
    """Read the fields at ``start``; return them, where the body starts, and whether it was clean.

    A line that is no field ends the block even without the blank line before it.
    """
    fields: list[tuple[str, str]] = []
    position = start
    name, pieces = "", [b""]
    while position < end:
        line_end = LINE_END.search(raw, position, end)
        stop, next_line = line_end.span() if line_end else (end, end)
        line = raw[position : min(stop, position + FIELD_CHARACTERS)]
        if not line:
            return _headers(fields, name, pieces), next_line, True
        if line[:1] in b" \t":
            if name and len(pieces) < 500:
                pieces.append(line)
        elif match := _FIELD.match(line):
            _finish(fields, name, pieces)
            name, pieces = match[1].decode("ascii").lower(), [line[match.end() :]]
        elif line.startswith((b"From ", b">From ")) and not fields and not name:
            pass
        else:
            return _headers(fields, name, pieces), position, False
        position = next_line
    return _headers(fields, name, pieces), end, True


def decode_words(value: str) -> str:
    """Decode RFC 2047 words wherever they stand, quoted strings included, as senders do.

    Examples
    --------
    >>> decode_words("=?utf-8?q?Wa=C5=BCka?= at =?iso-8859-1?B?3A==?=ber See")
    'Ważka at Über See'
    """
    if "=?" not in value:
        return value.strip()
    value = _BETWEEN_WORDS.sub(r"\1", value)
    out: list[str] = []
    position = 0
    pending: tuple[str, bytes] = ("", b"")
    for match in _ENCODED_WORD.finditer(value):
        charset, octets = match[1].partition("*")[0].lower(), _word_octets(match[2], match[3])
        between = value[position : match.start()]
        # Neighbouring words of one charset are joined first: senders split inside a letter.
        if between or charset != pending[0]:
            out.append(decode_text(pending[1], pending[0])[0])
            pending = (charset, b"")
            out.append(between)
        pending = (charset, pending[1] + octets)
        position = match.end()
    out.append(decode_text(pending[1], pending[0])[0])
    out.append(value[position:])
    return " ".join("".join(out).split())


def parameters(value: str) -> tuple[str, dict[str, str]]:
    """Split a Content-Type or Content-Disposition into its value and decoded parameters.

    Examples
    --------
    >>> parameters("image/jpeg; name*0*=utf-8''wa%C5%BC; name*1=ka.jpg")
    ('image/jpeg', {'name': 'ważka.jpg'})
    """
    main = value.partition(";")[0].strip().strip('"').lower()
    plain: dict[str, str] = {}
    pieces: dict[str, dict[int, tuple[str, bool]]] = {}
    for name, text in _parameter_texts(value.partition(";")[2]):
        base, star, rest = name.partition("*")
        if not star:
            plain.setdefault(base, decode_words(text))
            continue
        encoded = rest == "" or rest.endswith("*")
        number = rest.rstrip("*") or "0"
        if number.isascii() and number.isdigit() and len(number) < 4:
            pieces.setdefault(base, {})[int(number)] = (text, encoded)
    for base, numbered in pieces.items():
        # RFC 6266 4.3 and common practice: the extended form wins over the plain one.
        plain[base] = _joined(numbered)
    return main, plain


def read_address(value: str) -> tuple[str, str]:
    """Return name and address (domain lowered) of the first mailbox of a From-like field.

    Examples
    --------
    >>> read_address('"Finch, Ada" <Ada@Example.ORG>')
    ('Finch, Ada', 'Ada@example.org')
    """
    value = value[:2000]
    match = re.search(r"<\s*([^<>\s]+@[^<>\s]+)\s*>", value)
    if match:
        name, address = _unquoted(value[: match.start()].strip()), match[1]
    else:
        try:
            name, address = email.utils.parseaddr(value)
        except Exception:  # the library's parser has raised many kinds on damaged addresses
            name, address = "", ""
        if not address:
            found = re.search(r"[^\s<>()\",;:]+@[^\s<>()\",;:]+", value)
            address = found[0] if found else ""
            name = name or ("" if found else value)
    local, at, domain = decode_words(address).strip().rpartition("@")
    shown = decode_words(name).strip(" \"'")
    return shown, (local + at + domain.lower() if at else "")


def read_date(value: str) -> datetime | None:
    """Read an RFC 5322 date: aware where it states a zone, naive for ``-0000``, None if damaged.

    Examples
    --------
    >>> read_date("Sun, 14 Jun 2026 18:05:00 +0200").isoformat()
    '2026-06-14T18:05:00+02:00'
    """
    try:
        return within_the_calendar(email.utils.parsedate_to_datetime(value[:200]))
    except Exception:  # the library's parser has raised many kinds on damaged dates
        return None


def read_identifiers(value: str) -> tuple[str, ...]:
    """Return the message identifiers in a field, without their angle brackets."""
    found = re.findall(r"<([^<>\s]{1,900})>", value)
    return tuple(found) or tuple(value.split()[:1])


def _parameter_texts(value: str) -> Iterator[tuple[str, str]]:
    """Yield the parameters as they stand; a quote that is never closed ends at the semicolon."""
    position, closing = 0, True
    while position < len(value):
        match = _PARAMETER_NAME.match(value, position)
        start = match.end() if match else position
        quoted = (
            _QUOTED.match(value, start) if closing and value[start : start + 1] == '"' else None
        )
        # After one quote without end every later search for an end would be in vain and slow.
        closing = closing and (quoted is not None or value[start : start + 1] != '"')
        stop = value.find(";", quoted.end() if quoted else start)
        stop = len(value) if stop < 0 else stop
        if match:
            text = quoted[0] if quoted else value[start:stop]
            yield match[1].lower(), _unquoted(text.strip())
        position = stop + 1


def _headers(fields: list[tuple[str, str]], name: str, pieces: list[bytes]) -> Headers:
    _finish(fields, name, pieces)
    return Headers(tuple(fields))


def _finish(fields: list[tuple[str, str]], name: str, pieces: list[bytes]) -> None:
    if name and len(fields) < FIELD_COUNT * (2 if _NEEDED.fullmatch(name) else 1):
        value = b"".join(pieces)[:FIELD_CHARACTERS]
        fields.append((name, decode_text(value, "")[0].replace("\x00", "").strip()))


def _word_octets(encoding: str, text: str) -> bytes:
    octets = text.encode("utf-8", "replace")
    if encoding in "Qq":
        return binascii.a2b_qp(octets, header=True)
    octets = re.sub(rb"[^A-Za-z0-9+/]", b"", octets)
    octets = octets[: len(octets) - (len(octets) % 4 == 1)]
    return binascii.a2b_base64(octets + b"=" * (-len(octets) % 4))


def _unquoted(text: str) -> str:
    if len(text) >= 2 and text[0] == '"':
        # Only quotes and backslashes are unescaped: Windows programs write bare paths here.
        return re.sub(r'\\(["\\])', r"\1", text[1:].removesuffix('"'))
    return text


def _joined(numbered: dict[int, tuple[str, bool]]) -> str:
    charset, octets = "", b""
    for number in sorted(numbered):
        text, encoded = numbered[number]
        if encoded and number == min(numbered) and text.count("'") >= 2:
            charset, _, text = text.split("'", 2)
        octets += _percent_decoded(text) if encoded else text.encode("utf-8", "replace")
    return decode_text(octets, charset)[0]


def _percent_decoded(text: str) -> bytes:
    return re.sub(
        rb"%([0-9A-Fa-f]{2})",
        lambda match: bytes.fromhex(match[1].decode("ascii")),
        text.encode("utf-8", "replace"),
    )
