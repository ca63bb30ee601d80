"""Take signature, footers and what phones add off an author's lines.

A signature may hold the coordinates of a home and the name of a street: neither is where an insect
was seen. Lines that state a licence, name a place or day with a label, or begin a postscript stay.
Common practice, no source; RFC 3676 section 4.3 for the signature mark.
"""

from __future__ import annotations

import re

from triage.mail.ages import signed_with_an_age
from triage.mail.header_words import any_of

_PHONE_LINE = re.compile(rf"(?i)^(?:{any_of('phone')})\b.{{0,60}}$")
_SIGNATURE_LINE = re.compile(r"^(?:-- ?|\u2014|__)$")
_FOOTER_LINE = re.compile(
    r"(?i)^(?:[_=-]{20,}|virus[- ]free\b.*|virenfrei\b.*|nie zawiera wirusów\b.*"
    r"|.{0,60}\bchecked (?:for viruses|by .{0,30}antivirus)\b.*"
    r"|.{0,60}\bauf viren (?:geprüft|überprüft|untersucht)\b.*"
    r"|.{0,60}\bpod kątem (?:obecności )?wirusów\b.*"
    r"|(?:to )?unsubscribe\b.*"
    r"|you (?:are receiving|received) this (?:message|e-?mail) because\b.*"
    r"|this (?:e-?mail|message) (?:and any (?:files|attachments)|is confidential|may contain).*"
    r"|diese (?:e-?mail|nachricht) .{0,80}(?:vertraulich|bestimmt).*"
    r"|niniejsza wiadomość .{0,80}(?:poufn|przeznaczon).*)$"
)
_CLOSING_LINE = re.compile(rf"(?i)^(?:{any_of('closing')})[ ,.!:)]*$")
_STATEMENT = re.compile(
    r"(?i)\b(?:cc0|cc[- ]by|creative commons|licen[cs]e|lizenz|licencj\w+|publi(?:sh|k|c)\w*"
    r"|veröffentlich\w*)\b"
    r"|^(?:place|site|location|where|date|when|ort|fundort|datum|wo|wann|miejsce|stanowisko|data"
    r"|gdzie|kiedy|lieu|coordinates|koordinaten|współrzędne|gps)\s?[:=]"
)
_POSTSCRIPT = re.compile(r"(?i)^p\.? ?(?:p\.? ?)?s\b[.: ]")
_SIGNATURE_LINES = 15  # filled lines; what is longer below the mark is no signature
_CLOSING_LINES = 8
_FOOTER_REACH = 12


def without_signature(lines: list[str]) -> list[str]:
    """Leave off what is under the signature mark, a closing line or a footer's first line."""
    kept: list[str] = []
    left = sum(bool(line.strip()) for line in lines)
    for number, line in enumerate(lines):
        bare = line.strip(" \u00a0*")
        left -= bool(line.strip())
        if (_SIGNATURE_LINE.match(line) and left <= _SIGNATURE_LINES) or (
            _FOOTER_LINE.match(bare) and left <= _FOOTER_REACH
        ):
            return kept + _statements(lines[number + 1 :])
        if _PHONE_LINE.match(bare):
            continue
        kept.append(line)
        if _CLOSING_LINE.match(bare) and left <= _CLOSING_LINES:
            return kept + _statements(lines[number + 1 :], sentences=True)
    return kept


def _statements(lines: list[str], *, sentences: bool = False) -> list[str]:
    """Return the lines of a signature that say something of the photos, and a postscript.

    A child's age stays as well: then a guardian has the say.

    Under a mere closing line whole sentences stay as well: people go on writing there.
    """
    for number, line in enumerate(lines):
        if _POSTSCRIPT.match(line.strip()):
            before = _statements(lines[:number], sentences=sentences)
            return [*before, *without_signature(lines[number:])]
        if sentences and _SIGNATURE_LINE.match(line):
            return [*_statements(lines[:number], sentences=True), *_statements(lines[number + 1 :])]
    return [
        line
        for line in lines
        if _STATEMENT.search(line.strip())
        or signed_with_an_age(line)
        or (sentences and _is_sentence(line))
    ]


# "3 Weir Cottages, near the old bridge": a house, unless a day or the end of a sentence is there.
_HOUSE = re.compile(
    r"\s*\d{1,4}[a-z]?,?\s+(?!(?i:jan|feb|mar|mär|apr|ma[iy]|jun|jul|aug|sep|o[ck]t|nov|de[cz]))[A-ZÄÖÜŁŚ]\w+[^.!?]*$"
)


def _is_sentence(line: str) -> bool:
    if _HOUSE.match(line):
        return False
    words = len(re.findall(r"[^\W\d_]{2,}", line))
    return words >= 6 or (words >= 3 and line.rstrip()[-1:] in (".", "!", "?"))
