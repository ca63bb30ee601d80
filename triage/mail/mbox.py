"""Read the raw mails of an mbox file of any size, one after the other.

The four common forms (mboxo, mboxrd, mboxcl, mboxcl2; RFC 4155 for the shape of the separator):
a separator is a line ``From address weekday month day time year`` followed by a header field. A
Content-Length that leads exactly to the next separator or the end is believed, any other is not.
Memory stays at one mail and one step of the file.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import IO

from triage.mail.limits import Limits

_STEP = 1024 * 1024
_LOOK_AHEAD = 4096  # bytes after a separator that must be at hand to judge it

_DATED = (
    rb"From [^\r\n]{0,400}?(?:Mon|Tue|Wed|Thu|Fri|Sat|Sun)[a-z]{0,6},? +"
    rb"(?:(?:Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)[a-z]{0,6} +\d{1,2}"
    rb"|\d{1,2} +(?:Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)[a-z]{0,6})"
    rb"[^\r\n]{0,60}"
)
_UNDATED = rb"From (?:[^\s@]{1,200}@[^\s@]{1,200}|MAILER-DAEMON|-)?[ \t]*"
_NEXT_LINE = rb"\r?\n(?=[!-9;-~]{1,80}:|>From |From |\r?\n)"
_FIRST = re.compile(rb"(?:" + _DATED + rb"|" + _UNDATED + rb")" + _NEXT_LINE)
_SEPARATOR = re.compile(
    rb"\n(?:"
    + _DATED
    + rb"|(?<=\n\n)"
    + _UNDATED
    + rb"|(?<=\n\r\n)"
    + _UNDATED
    + rb")"
    + _NEXT_LINE
)
_CONTENT_LENGTH = re.compile(rb"(?im)^Content-Length:[ \t]*(\d{1,12})[ \t]*\r?$")
_QUOTED_FROM = re.compile(rb"(?m)^>(?=>*From )")


@dataclass(frozen=True, slots=True, kw_only=True)
class MboxMail:
    """One mail of an mbox: its number from 1, its offset in bytes, its bytes without separator.

    ``raw`` is empty where the mail is longer than allowed; ``size`` is its length all the same.
    """

    number: int
    offset: int
    size: int
    raw: bytes = field(repr=False)


def starts_like_mbox(head: bytes) -> bool:
    """Tell whether the first bytes of a file are an mbox separator."""
    return bool(_FIRST.match(head.removeprefix(b"\xef\xbb\xbf").lstrip(b"\r\n")))


def iter_mbox(stream: IO[bytes], *, limits: Limits) -> Iterator[MboxMail]:
    """Yield the mails of an mbox, reading the stream once from where it stands."""
    window = _Window(stream)
    window.fill(_LOOK_AHEAD)
    window.skip_to_separator()
    number = 0
    while window.data:
        number += 1
        yield _next_mail(window, number, limits)


def unquote_from(raw: bytes) -> bytes:
    """Take one quote mark off the lines that an mbox writer quoted (``>From``, ``>>From``)."""
    # A letter is found by far faster than a word, and base64 has no such letter.
    return _QUOTED_FROM.sub(b"", raw) if b">" in raw and b">From " in raw else raw


@dataclass(slots=True)
class _Window:
    """The part of the file that is at hand: it starts at a separator."""

    stream: IO[bytes]
    data: bytearray = field(default_factory=bytearray)
    offset: int = 0
    at_end: bool = False

    def fill(self, wanted: int) -> None:
        while len(self.data) < wanted and not self.at_end:
            step = self.stream.read(max(_STEP, wanted - len(self.data)))
            self.at_end = not step
            self.data += step

    def drop(self, length: int) -> None:
        del self.data[:length]
        self.offset += length

    def skip_to_separator(self) -> None:
        blank = len(self.data) - len(self.data.removeprefix(b"\xef\xbb\xbf").lstrip(b"\r\n"))
        self.drop(blank)


def _next_mail(window: _Window, number: int, limits: Limits) -> MboxMail:
    """Cut the mail at the start of the window and move the window to the next separator."""
    window.fill(_LOOK_AHEAD)
    offset = window.offset
    start = window.data.find(b"\n") + 1 or len(window.data)
    stop = _by_content_length(window, start, limits)
    if stop is None:
        stop, dropped = _by_separator(window, start, limits)
        if dropped:
            window.drop(stop)
            return MboxMail(number=number, offset=offset, size=dropped + stop, raw=b"")
    raw = bytes(memoryview(window.data)[start : stop - _blank_line(window.data, start, stop)])
    window.drop(stop)
    return MboxMail(number=number, offset=offset, size=stop - start, raw=unquote_from(raw))


def _by_content_length(window: _Window, start: int, limits: Limits) -> int | None:
    """Return where the mail ends by its Content-Length, if that leads to a separator or the end."""
    blank = _end_of_header(window.data, start)
    match = _CONTENT_LENGTH.search(window.data, start, blank)
    if not match or int(match[1]) > limits.message_bytes:
        return None
    stop = blank + int(match[1])
    window.fill(stop + _LOOK_AHEAD)
    if stop > len(window.data):
        return None
    for line_end in (b"", b"\n", b"\r\n", b"\n\n", b"\r\n\r\n"):
        after = stop + len(line_end)
        if bytes(window.data[stop:after]) != line_end:
            continue
        if (after == len(window.data) and window.at_end) or (
            window.data[after - 1 : after] == b"\n" and _FIRST.match(window.data, after)
        ):
            return after
    return None


def _end_of_header(data: bytearray, start: int) -> int:
    match = re.compile(rb"\r?\n\r?\n").search(data, max(start - 1, 0), start + 1_000_000)
    return match.end() if match else start


def _by_separator(window: _Window, start: int, limits: Limits) -> tuple[int, int]:
    """Return where the next separator begins, and how many bytes of a too long mail went by."""
    position = max(start - 1, 0)
    dropped = 0
    while True:
        match = _next_separator(window.data, position)
        if match and (match.end() + 1 < len(window.data) or window.at_end):
            return match.start() + 1, dropped
        if window.at_end:
            return len(window.data), dropped
        position = max(len(window.data) - _LOOK_AHEAD, start - 1, 0) if not match else match.start()
        if dropped or len(window.data) > limits.message_bytes:
            # Too long to keep: only its end is still looked for.
            passed = max(len(window.data) - 2 * _LOOK_AHEAD, 0)
            window.drop(passed)
            dropped += passed
            position = max(position - passed, 0)
            start = 0
        window.fill(len(window.data) + _STEP)


def _next_separator(data: bytearray, position: int) -> re.Match[bytes] | None:
    """The first separator from here on: a word is found far faster than a form."""
    while (found := data.find(b"\nFrom ", position)) >= 0:
        match = _SEPARATOR.match(data, found)
        if match:
            return match
        position = found + 1
    return None


def _blank_line(data: bytearray, start: int, stop: int) -> int:
    """Bytes of the empty line that stands before the next separator."""
    for line_end in (b"\r\n\r\n", b"\n\n"):
        if data.endswith(line_end, start, stop):
            return len(line_end) // 2
    return 0
