"""Divide a mail's text into its author's words, quotations and forwarded mails.

Programs that forward a mail inside the text put the old header lines above it, in the language of
their user (header_words).
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from triage.mail.header_words import any_of, is_answer
from triage.mail.headers import read_address
from triage.mail.records import Envelope
from triage.mail.signatures import without_signature
from triage.mail.written_dates import read_written_date

_FIELD_LINE = re.compile(
    rf"(?i)^[ *>]{{0,20}}(?:(?P<sender>{any_of('sender')})|(?P<date>{any_of('date')})"
    rf"|(?P<to>{any_of('to')})|(?P<subject>{any_of('subject')}))"
    r"[ \u00a0]?:[* \u00a0]*(?P<value>.*)$"
)
_FORWARD_MARK = re.compile(
    rf"(?i)^[ >]{{0,20}}[-_*]{{0,40}} ?(?:{any_of('forwarded')})[ :]{{0,3}}[-_*]{{0,40}} *$"
)
_ORIGINAL_MARK = re.compile(rf"(?i)^[ >]{{0,20}}-{{2,40}} ?(?:{any_of('original')}) ?-{{0,40}} *$")
_FORWARD_SUBJECT = re.compile(rf"(?i)^\s*(?:{any_of('prefixes')})\s?:")
_WROTE = (
    rf"(?i)^\s*(?:(?:{any_of('opening')})\b|\d{{1,4}}[./-]|[^\W\d_]{{2,12}}[.,]{{0,2}} \d)"
    rf".{{0,300}}?%s\b(?:{any_of('wrote')})(?: .{{0,80}})?\s?:"
)
_ATTRIBUTION = re.compile(_WROTE % "" + "$")
_OPENING = re.compile(rf"(?i)(?:{any_of('opening')})\b")
_RUN_ON = re.compile(_WROTE % r"@[^\s@]{1,200}\s?" + r"\s+\S")
TEXT_DIVIDED = 200_000  # characters; no letter is longer, and what follows is not read


@dataclass(frozen=True, slots=True, kw_only=True)
class _Block:
    start: int
    body: int
    forwarded: bool
    fields: dict[str, str]


def divide_text(text: str, *, subject: str = "", answers: bool = False) -> list[Envelope]:
    """Divide the text of one mail among its authors: the sender first, then forwarded ones.

    A header block counts as forwarded if a mark or the subject says so, or if nothing of the
    sender's own stands above it; otherwise it begins the quoted mail that is being answered.
    ``answers`` says that the header names a mail it answers: an answer of photos alone, without
    a word above the quoted mail, is no forwarded mail.
    """
    layers: list[Envelope] = []
    lines = text[:TEXT_DIVIDED].splitlines()
    heading: dict[str, str] = {}
    for _ in range(10):
        block = _find_block(lines)
        above = lines[: block.start] if block else lines
        own, quoted = _own_lines(above)
        if block is None:
            layers.append(_layer(own, quoted, heading))
            return layers
        title = heading.get("subject", "") if layers else subject
        answering = is_answer(title) or (answers and not layers)
        silent = not answering and not _says_something(own)
        if not (block.forwarded or _FORWARD_SUBJECT.match(title) or silent):
            rest = lines[block.start :]
            layers.append(_layer(own, quoted + rest, heading))
            return layers
        layers.append(_layer(own, quoted, heading))
        heading = block.fields
        lines = _unquoted(lines[block.body :])
    layers.append(_layer([], lines, heading))
    return layers


def _find_block(lines: list[str]) -> _Block | None:
    for number, line in enumerate(lines):
        forwarded = bool(_FORWARD_MARK.match(line))
        original = bool(_ORIGINAL_MARK.match(line))
        if forwarded or original:
            fields, body = _read_fields(lines, number + 1)
            if "sender" in fields or forwarded:
                return _Block(start=number, body=body, forwarded=forwarded, fields=fields)
        elif (match := _FIELD_LINE.match(line)) and match["sender"] and not line.startswith(">"):
            fields, body = _read_fields(lines, number)
            if "date" in fields and ("subject" in fields or "to" in fields):
                start = number
                while start and re.fullmatch(r"[ _*-]*", lines[start - 1]):
                    start -= 1
                return _Block(start=start, body=body, forwarded=False, fields=fields)
    return None


def _read_fields(lines: list[str], start: int) -> tuple[dict[str, str], int]:
    """Read the header lines at ``start``; return them and where the text below begins."""
    fields: dict[str, str] = {}
    position = start
    while position < len(lines) and not lines[position].strip("> "):
        position += 1
    last = ""
    while position < len(lines) and position < start + 25:
        line = lines[position]
        match = _FIELD_LINE.match(line)
        if match:
            last = next(kind for kind in ("sender", "date", "to", "subject") if match[kind])
            fields.setdefault(last, match["value"].strip("* "))
        elif last and line[:1] in (" ", "\t") and line.strip():
            fields[last] += " " + line.strip()
        elif last and not fields[last] and line.strip("> "):
            fields[last] = line.strip("> *")  # HTML tables put the value on a line of its own
        elif last and not line.strip("> ") and _more_fields(lines, position):
            pass
        else:
            break
        position += 1
    return fields, position


def _more_fields(lines: list[str], position: int) -> bool:
    following = lines[position + 1 : position + 2]
    return bool(following and _FIELD_LINE.match(following[0]))


def _own_lines(lines: list[str]) -> tuple[list[str], list[str]]:
    """Part one author's lines into those of his own and those quoted; drop what nobody wrote."""
    own: list[str] = []
    quoted: list[str] = []
    marked = [number for number, line in enumerate(lines) if line.lstrip(" ").startswith(">")]
    position = 0
    while position < len(lines):
        line = lines[position]
        if line.lstrip(" ").startswith(">"):
            quoted.append(line)
        elif length := _attribution_length(lines, position):
            quoted.extend(lines[position : position + length])
            position += length - 1
            if not marked or marked[-1] <= position:
                quoted.extend(lines[position + 1 :])
                break
        else:
            own.append(line.rstrip())
        position += 1
    return without_signature(own), quoted


def _attribution_length(lines: list[str], position: int) -> int:
    """Count the lines (0 to 3) of "On ... Ada wrote:" at this place.

    Some programs let the quoted text follow on the same line; an address in it tells.
    """
    if not lines[position].strip():
        return 0
    if _RUN_ON.match(lines[position][:500]):
        return 1
    for length in (1, 2, 3):
        part = [line.strip() for line in lines[position : position + length]]
        if not part[-1] or (length > 1 and _OPENING.match(part[-1])):
            return 0  # a day or numbers of the author's own, with the attribution below
        joined = " ".join(part)
        if joined.endswith(":") and len(joined) < 400 and _ATTRIBUTION.match(joined):
            return length
    return 0


def _says_something(lines: list[str]) -> bool:
    return len(re.findall(r"\w", "".join(lines))) > 3


def _unquoted(lines: list[str]) -> list[str]:
    """Take one quote mark off a forwarded text if the whole of it is quoted."""
    filled = [line for line in lines if line.strip()]
    if filled and all(line.startswith(">") for line in filled):
        return [line.removeprefix(">").removeprefix(" ") for line in lines]
    return lines


def _layer(own: list[str], quoted: list[str], heading: dict[str, str]) -> Envelope:
    name, address = read_address(re.sub(r"\[mailto:([^\]]*)\]", r"<\1>", heading.get("sender", "")))
    return Envelope(
        text=_tidy(own),
        quoted_text=_tidy(quoted),
        sender_name=name,
        sender_address=address,
        sent_at=read_written_date(heading.get("date", "")),
        subject=heading.get("subject", ""),
    )


def _tidy(lines: list[str]) -> str:
    return re.sub(r"\n{3,}", "\n\n", "\n".join(lines)).strip()
