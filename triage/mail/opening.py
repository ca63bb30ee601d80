"""The tree of a mail in; its authors' texts and its parts, each with what became of it, out."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from triage.mail.archives import Unpacked, unpack_zip, zip_document_type
from triage.mail.authorship import WrittenText, divide_text
from triage.mail.body_text import find_links, leads_to_pictures, text_of_html, unflow
from triage.mail.charsets import decode_text
from triage.mail.file_names import file_stem, safe_file_name
from triage.mail.headers import Headers, read_address, read_date
from triage.mail.identity import sha256, text_digest
from triage.mail.limits import MEBIBYTE, Limits
from triage.mail.media_types import (
    UNKNOWN_TYPE,
    describe_media_type,
    is_picture,
    sniff_media_type,
)
from triage.mail.pictures import judge_picture
from triage.mail.records import Envelope, Part, PartOutcome
from triage.mail.structure import Entity, read_structure, walk_leaves

_SIGNATURE_TYPES = (
    "application/pgp-signature",
    "application/pkcs7-signature",
    "application/x-pkcs7-signature",
)
_REPORT_TYPES = (
    "message/delivery-status",
    "message/disposition-notification",
    "message/feedback-report",
)


@dataclass(slots=True, kw_only=True)
class Layer:
    """One mail inside the message, before its text is divided among its authors."""

    sender: tuple[str, str]
    headers: Headers
    texts: list[str] = field(default_factory=list)
    links: list[str] = field(default_factory=list)
    shown_ids: set[str] = field(default_factory=set)


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundFile:
    """A file at one place in the message, before anyone has looked at what it is."""

    path: str
    layer: int
    name: str
    declared_type: str
    content: bytes = field(repr=False)
    inline: bool = False
    depth: int = 0


@dataclass(slots=True, kw_only=True)
class Opening:
    """What has been found in a message so far, and how much may still be unpacked."""

    limits: Limits
    layers: list[Layer] = field(default_factory=list)
    parts: list[Part] = field(default_factory=list)
    digests: list[str] = field(default_factory=list)
    problems: list[str] = field(default_factory=list)
    unpacked_bytes: int = 0
    paths: set[str] = field(default_factory=set)
    bounced: bool = False

    # -- mails ---------------------------------------------------------------------------------

    def open_mail(self, entity: Entity, depth: int) -> None:
        """Take in one mail: its sender, its texts, its files."""
        headers = entity.headers
        layer = Layer(sender=sender_of(headers), headers=headers)
        self.layers.append(layer)
        index = len(self.layers) - 1
        for leaf in walk_leaves(entity):
            if leaf.declared_type == "text/html" and leaf.disposition != "attachment":
                source = decode_text(leaf.decoded()[0], leaf.type_parameters.get("charset", ""))[0]
                layer.shown_ids.update(_shown_identifiers(source))
        self.visit(entity, index, depth, None)

    def visit(self, entity: Entity, layer: int, depth: int, choice: _Choice | None) -> None:
        """Take in one node of the tree; ``choice`` collects the texts of one alternative."""
        if not entity.children:
            self.leaf(entity, layer, depth, choice)
            return
        own_choice = _Choice() if entity.declared_type == "multipart/alternative" else None
        for child in entity.children:
            self.visit(child, layer, depth, own_choice or choice)
        if own_choice:
            self.settle_choice(own_choice, layer, choice)

    def settle_choice(self, chosen: _Choice, layer: int, outer: _Choice | None) -> None:
        text = chosen.best()
        if outer is not None:
            outer.plain.append(text)
        elif text:
            self.layers[layer].texts.append(text)

    def leaf(self, entity: Entity, layer: int, depth: int, choice: _Choice | None) -> None:
        content, problem = entity.decoded()
        if problem:
            self.note(f"part {entity.path or '1'}: {problem}")
        declared = entity.declared_type
        name = safe_file_name(entity.name)
        sniffed = sniff_media_type(content, file_name=name)
        path = entity.path or "1"
        if declared in ("message/rfc822", "message/global") or _is_attached_mail(
            name, sniffed, content
        ):
            self.forwarded_mail(content, path, layer, name, declared, depth)
            return
        if (
            declared.startswith("text/")
            and sniffed == UNKNOWN_TYPE
            and declared in ("text/plain", "text/html", "text/enriched", "text/x-amp-html")
            and (entity.disposition != "attachment" or not name)
        ):
            self.body_text(entity, content, path, layer, choice)
            return
        self.digests.append(sha256(content))
        shown = entity.content_id and entity.content_id in self.layers[layer].shown_ids
        found = FoundFile(
            path=path,
            layer=layer,
            name=name,
            declared_type=declared,
            content=content,
            inline=bool(shown) or entity.disposition == "inline",
            depth=depth,
        )
        self.open_file(found, sniffed)

    def forwarded_mail(
        self, content: bytes, path: str, layer: int, name: str, declared: str, depth: int
    ) -> None:
        found = FoundFile(
            path=path, layer=layer, name=name, declared_type=declared, content=b"", depth=depth
        )
        if depth >= self.limits.nesting:
            self.digests.append(sha256(content))
            self.add(
                replace(found, content=content),
                "message/rfc822",
                "kept, other kind",
                f"a forwarded mail nested deeper than {self.limits.nesting} levels; not opened",
            )
            return
        inner = read_structure(
            content, limits=self.limits, path=path, depth=depth + 1, problems=self.problems
        )
        self.add(found, "message/rfc822", "nothing to keep", "a forwarded mail, opened below")
        self.open_mail(inner, depth + 1)

    # -- texts ---------------------------------------------------------------------------------

    def body_text(
        self, entity: Entity, content: bytes, path: str, layer: int, choice: _Choice | None
    ) -> None:
        text, problem = decode_text(content, entity.type_parameters.get("charset", ""))
        if problem:
            self.note(f"part {path}: {problem}")
        self.digests.append(text_digest(text))
        media_type, reason = "text/plain", "the message's text, read"
        if entity.declared_type in ("text/html", "text/x-amp-html"):
            media_type = "text/html"
            text, links = text_of_html(text)
            self.layers[layer].links.extend(links)
            reason = "the message's text as HTML, read without its markup"
        elif entity.type_parameters.get("format", "").lower() == "flowed":
            text = unflow(
                text, delete_space=entity.type_parameters.get("delsp", "").lower() == "yes"
            )
        self.layers[layer].links.extend(find_links(text))
        if choice is not None:
            (choice.html if media_type == "text/html" else choice.plain).append(text)
            if media_type == "text/html" and choice.plain_says():
                reason = "the message's text again as HTML"
        elif text.strip():
            self.layers[layer].texts.append(text)
        else:
            reason = "an empty text"
        found = FoundFile(
            path=path,
            layer=layer,
            name=safe_file_name(entity.name),
            declared_type=entity.declared_type,
            content=b"",
        )
        self.add(found, media_type, "nothing to keep", reason)

    # -- files ---------------------------------------------------------------------------------

    def open_file(self, found: FoundFile, media_type: str) -> None:
        """Say what a file is and what becomes of it; containers are opened."""
        if not found.content:
            self.add(found, media_type, "nothing to keep", "an empty file")
        elif len(found.content) > self.limits.file_bytes:
            limit = f"larger than {self.limits.file_bytes // MEBIBYTE} MiB; not opened"
            self.add(found, media_type, "kept, other kind", limit)
        elif is_picture(media_type):
            self.picture(found, media_type)
        elif media_type == "application/zip":
            self.zip_file(found)
        elif found.declared_type in _SIGNATURE_TYPES:
            self.add(
                replace(found, content=b""), media_type, "nothing to keep", "a digital signature"
            )
        elif found.declared_type in _REPORT_TYPES:
            self.add(
                replace(found, content=b""),
                media_type,
                "nothing to keep",
                "a delivery report, read",
            )
        else:
            self.other_kind(found, media_type)

    def picture(self, found: FoundFile, media_type: str) -> None:
        outcome, reason = judge_picture(
            found.content, media_type=media_type, file_name=found.name, inline=found.inline
        )
        if self.bounced and outcome == "taken in":
            outcome, reason = "kept, not examined", "part of a mail that came back undelivered"
        self.add(found, media_type, outcome, reason)

    def zip_file(self, found: FoundFile) -> None:
        media_type = zip_document_type(found.content)
        if media_type != "application/zip":
            self.other_kind(found, media_type)
            return
        budget = self.limits.expanded_bytes - self.unpacked_bytes
        self.container(
            found,
            media_type,
            "a zip archive",
            unpack_zip(found.content, limits=self.limits, budget=budget),
        )

    def container(
        self, found: FoundFile, media_type: str, what: str, files: Iterable[Unpacked]
    ) -> None:
        """Open the files of a container; what cannot be opened keeps the container itself."""
        if found.depth >= self.limits.nesting:
            self.add(found, media_type, "kept, other kind", f"{what} nested too deep; not opened")
            return
        place = len(self.parts)
        failures: list[str] = []
        opened = 0
        for file in files:
            if len(self.parts) >= self.limits.parts:
                failures.append(f"more than {self.limits.parts} parts; the rest is not opened")
                break
            if file.problem and not file.content:
                failures.append(f"{file.name}: {file.problem}" if file.name else file.problem)
                continue
            self.unpacked_bytes += len(file.content)
            opened += 1
            self.inner_file(found, file)
        self.container_part(found, media_type, what, place, opened, failures)

    def container_part(
        self,
        found: FoundFile,
        media_type: str,
        what: str,
        place: int,
        opened: int,
        failures: list[str],
    ) -> None:
        if failures:
            shown = "; ".join(failures[:3]) + (
                f"; and {len(failures) - 3} more" if failures[3:] else ""
            )
            self.note(f"part {found.path}: {shown}")
            reason = f"{what}, {opened} files opened, not all could be: {shown}"
            self.add(found, media_type, "kept, other kind", reason, place=place)
        else:
            empty = replace(found, content=b"")
            self.add(
                empty,
                media_type,
                "nothing to keep",
                f"{what}, its {opened} files opened",
                place=place,
            )

    def inner_file(self, container: FoundFile, file: Unpacked) -> None:
        name = file.name or "file"
        base = safe_file_name(name)
        found = FoundFile(
            path=f"{container.path}/{container.name or 'archive'}/{name}",
            layer=container.layer,
            name=base,
            declared_type=file.declared_type,
            content=file.content,
            depth=container.depth + 1,
        )
        sniffed = sniff_media_type(file.content, file_name=base)
        if _is_attached_mail(base, sniffed, file.content):
            self.forwarded_mail(file.content, found.path, found.layer, base, "", found.depth)
        else:
            self.open_file(found, sniffed)

    def other_kind(self, found: FoundFile, media_type: str) -> None:
        if media_type == UNKNOWN_TYPE and found.declared_type.startswith("text/"):
            media_type = found.declared_type
        words = describe_media_type(media_type)
        self.add(found, media_type, "kept, other kind", f"{words}; not examined")

    def add(
        self,
        found: FoundFile,
        media_type: str,
        outcome: PartOutcome,
        reason: str,
        *,
        place: int | None = None,
    ) -> None:
        part = Part(
            path=self.unique_path(found.path),
            envelope=found.layer,
            file_name=found.name,
            declared_type=found.declared_type,
            media_type=media_type,
            outcome=outcome,
            reason=reason,
            content=b"" if outcome == "nothing to keep" else found.content,
        )
        self.parts.insert(len(self.parts) if place is None else place, part)

    def unique_path(self, path: str) -> str:
        candidate, number = path, 1
        while candidate in self.paths:
            number += 1
            candidate = f"{path}~{number}"
        self.paths.add(candidate)
        return candidate

    def note(self, problem: str) -> None:
        if problem not in self.problems and len(self.problems) < 100:
            self.problems.append(problem)

    # -- the result ----------------------------------------------------------------------------

    def finished(self) -> tuple[tuple[Envelope, ...], tuple[Part, ...], tuple[str, ...]]:
        """Divide the texts among their authors; return envelopes, parts and album links."""
        envelopes: list[Envelope] = []
        innermost: list[int] = []
        for layer in self.layers:
            subject = layer.headers.text("subject")
            written = divide_text("\n\n".join(layer.texts), subject=subject)
            envelopes.extend(_envelopes(layer, subject, written))
            innermost.append(len(envelopes) - 1)
        parts = [replace(part, envelope=innermost[part.envelope]) for part in self.parts]
        links = [link for layer in self.layers for link in layer.links if leads_to_pictures(link)]
        return tuple(envelopes), tuple(_pair_moving_halves(parts)), tuple(dict.fromkeys(links))


@dataclass(slots=True)
class _Choice:
    """The same text in several forms, of which one is read (RFC 2046 section 5.1.4)."""

    plain: list[str] = field(default_factory=list)
    html: list[str] = field(default_factory=list)

    def plain_says(self) -> bool:
        plain, marked_up = "\n".join(self.plain).strip(), "\n".join(self.html).strip()
        # Some programs send a stub in place of the plain text.
        return bool(plain) and not (
            len(plain) < 100 and len(marked_up) > 3 * len(plain) and "html" in plain.lower()
        )

    def best(self) -> str:
        return "\n".join(self.plain if self.plain_says() or not self.html else self.html)


def sender_of(headers: Headers) -> tuple[str, str]:
    """Return name and address of the author, from the first field that states one."""
    for name in ("from", "sender", "reply-to", "return-path"):
        shown, address = read_address(headers.first(name))
        if address:
            return shown, address
    return read_address(headers.first("from"))


def _envelopes(layer: Layer, subject: str, written: list[WrittenText]) -> list[Envelope]:
    outer = Envelope(
        sender_name=layer.sender[0],
        sender_address=layer.sender[1],
        sent_at=read_date(layer.headers.first("date")),
        subject=subject,
        text=written[0].text,
        quoted_text=written[0].quoted_text,
    )
    inner = [
        Envelope(
            sender_name=text.sender_name,
            sender_address=text.sender_address,
            sent_at=text.sent_at,
            subject=text.subject,
            text=text.text,
            quoted_text=text.quoted_text,
        )
        for text in written[1:]
    ]
    return [outer, *inner]


def _shown_identifiers(source: str) -> set[str]:
    """Return the content identifiers that an HTML text shows (RFC 2392)."""
    return {
        piece.split('"')[0].split("'")[0].split(">")[0].strip()
        for piece in source.split("cid:")[1:]
    }


def _is_attached_mail(name: str, sniffed: str, content: bytes) -> bool:
    return sniffed == UNKNOWN_TYPE and name.lower().endswith(".eml") and b":" in content[:200]


def _pair_moving_halves(parts: list[Part]) -> list[Part]:
    """Name the still picture that a short video belongs to, where both came in one message."""
    stills = {
        (part.envelope, file_stem(part.file_name)): part.file_name
        for part in parts
        if part.media_type in ("image/heif", "image/jpeg") and part.file_name
    }
    paired = []
    for part in parts:
        partner = stills.get((part.envelope, file_stem(part.file_name)))
        if partner and part.media_type.startswith("video/"):
            part = replace(part, reason=f"the moving half of the picture {partner}; not examined")
        paired.append(part)
    return paired
