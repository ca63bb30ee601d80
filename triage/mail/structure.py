"""Read the tree of parts of a raw mail, however broken (RFC 2045, 2046).

The bodies stay slices of the raw bytes until they are asked for, so that a large attachment is
decoded once, straight from the mail.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field

from triage.mail.headers import LINE_END, Headers, parameters, split_header_block
from triage.mail.limits import Limits
from triage.mail.transfer import decode_transfer

# A line of two dashes and more, with a header field in the next line or, failing that, with
# anything: the boundary in use where the header names another or none.
_GUESSED_BOUNDARIES = tuple(
    re.compile(
        rb"(?:^|(?<=[\r\n]))--(?=-{0,70}[^\s-])([^\s][^\r\n]{0,69}?)[ \t]{0,70}(?:\r*\n|\r)"
        + following
    )
    for following in (rb"(?=[!-9;-~]{1,80}[ \t]?:)", rb"")
)


@dataclass(slots=True, kw_only=True)
class Entity:
    """One node of the tree: a leaf with its body, a multipart, or a mail inside a mail."""

    path: str
    headers: Headers
    raw: bytes = field(repr=False)
    start: int
    end: int
    declared_type: str
    type_parameters: dict[str, str]
    disposition: str
    disposition_parameters: dict[str, str]
    children: list[Entity] = field(default_factory=list)

    @property
    def name(self) -> str:
        """The file name the sender gave, not yet made safe."""
        return (
            self.disposition_parameters.get("filename", "")
            or self.type_parameters.get("name", "")
            or self.type_parameters.get("filename", "")
        )

    @property
    def content_id(self) -> str:
        """The identifier by which an HTML text refers to this part."""
        return self.headers.first("content-id").strip("<> ")

    @property
    def is_plain(self) -> bool:
        """Tell whether the body stands in the mail as it is, without any encoding."""
        encoding = self.headers.first("content-transfer-encoding").strip().lower()
        return encoding in ("", "7bit", "8bit", "binary")

    def decoded(self) -> tuple[bytes, str]:
        """Return the body with its transfer encoding undone, and what was wrong with it."""
        body = self.raw[self.start : self.end]
        return decode_transfer(body, self.headers.first("content-transfer-encoding"))


def read_structure(
    raw: bytes,
    *,
    limits: Limits,
    problems: list[str],
    start: int = 0,
    end: int | None = None,
    path: str = "",
    depth: int = 0,
) -> Entity:
    """Read the mail between ``start`` and ``end``, as well as it can be read.

    What is broken is noted in ``problems``. The bytes are not copied, so that mails inside mails
    cost no memory.
    """
    end = len(raw) if end is None else end
    head = raw[start : min(end, start + 100_000)]
    if b"\n" not in head and b"\r" in head:
        raw = raw[start:end].replace(b"\r", b"\n")
        start, end = 0, len(raw)
    while raw[start : start + 1] in (b"\r", b"\n") and start < end:
        start += 1
    reader = _Reader(raw=raw, limits=limits, problems=problems)
    return reader.entity(start, end, path, depth, default_type="text/plain")


def walk_leaves(entity: Entity) -> Iterator[Entity]:
    """Yield the entities without children, in the order of the mail."""
    if not entity.children:
        yield entity
    for child in entity.children:
        yield from walk_leaves(child)


@dataclass(slots=True)
class _Reader:
    raw: bytes
    limits: Limits
    problems: list[str]
    count: int = 0

    def entity(self, start: int, end: int, path: str, depth: int, *, default_type: str) -> Entity:
        headers, body, clean = split_header_block(self.raw, start, end)
        if not clean and headers.fields:
            self.note("a header is followed by text without the blank line between them")
        declared, type_parameters = parameters(headers.first("content-type"))
        disposition, disposition_parameters = parameters(headers.first("content-disposition"))
        node = Entity(
            path=path,
            headers=headers,
            raw=self.raw,
            start=body,
            end=end,
            declared_type=declared if "/" in declared else default_type,
            type_parameters=type_parameters,
            disposition=disposition,
            disposition_parameters=disposition_parameters,
        )
        self.count += 1
        if node.declared_type.startswith("multipart/"):
            self.multipart(node, depth)
        return node

    def multipart(self, node: Entity, depth: int) -> None:
        if depth >= self.limits.nesting:
            self.note(
                f"parts are nested deeper than {self.limits.nesting} levels; not opened further"
            )
            return
        spans = self.spans(node)
        if not spans:
            return
        inner = "message/rfc822" if node.declared_type == "multipart/digest" else "text/plain"
        prefix = f"{node.path}." if node.path else ""
        for number, (start, end) in enumerate(spans, start=1):
            if self.count >= self.limits.parts:
                self.note(f"more than {self.limits.parts} parts; the rest is not opened")
                break
            child = self.entity(start, end, f"{prefix}{number}", depth + 1, default_type=inner)
            node.children.append(child)

    def spans(self, node: Entity) -> list[tuple[int, int]]:
        boundary = node.type_parameters.get("boundary", "").rstrip().encode("utf-8", "replace")
        spans, closed = self.delimited(node, boundary) if boundary else ([], False)
        if not spans:
            reach = min(node.end, node.start + 100_000)
            guesses = (one.search(self.raw, node.start, reach) for one in _GUESSED_BOUNDARIES)
            match = next((guess for guess in guesses if guess), None)
            if match:
                self.note(
                    "the boundary named in the header does not occur; the one in use was taken"
                )
                spans, closed = self.delimited(node, match[1])
        if not spans:
            self.note("a multipart without any boundary; read as one text")
            node.declared_type = "text/plain"
        elif not closed:
            self.note("the end boundary is missing; the last part may be cut off")
        return spans

    def delimited(self, node: Entity, boundary: bytes) -> tuple[list[tuple[int, int]], bool]:
        raw, marker = self.raw, b"--" + boundary
        spans: list[tuple[int, int]] = []
        opened = -1
        position = node.start
        while (found := raw.find(marker, position, node.end)) >= 0:
            position = found + len(marker)
            if found > node.start and raw[found - 1 : found] not in (b"\n", b"\r"):
                continue
            line_end = LINE_END.search(raw, position, node.end)
            stop, following = line_end.span() if line_end else (node.end, node.end)
            rest = raw[position : min(stop, position + 200)].strip()
            if rest not in (b"", b"--") or stop - position > 200:
                continue
            if opened >= 0:
                spans.append((opened, self.before_delimiter(opened, found)))
            if rest == b"--":
                self.epilogue(stop, node.end)
                return spans, True
            opened = following
            position = opened
            if len(spans) > self.limits.parts:
                return spans, True
        if opened >= 0:
            spans.append((opened, node.end))
        return spans, False

    def before_delimiter(self, start: int, end: int) -> int:
        """Leave off the line end that belongs to the delimiter (RFC 2046 section 5.1.1)."""
        if end > start and self.raw[end - 1 : end] == b"\n":
            end -= 1
        if end > start and self.raw[end - 1 : end] == b"\r":
            end -= 1
        return end

    def epilogue(self, start: int, end: int) -> None:
        if len(self.raw[start:end].strip()) > 200:
            self.note("text after the end boundary is kept in the raw mail only")

    def note(self, problem: str) -> None:
        if problem not in self.problems:
            self.problems.append(problem)
