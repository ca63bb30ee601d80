"""Open a mail's tree: its authors' texts and its parts, each with what became of it."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from triage.analysis.media_types import UNKNOWN_TYPE, sniff_media_type
from triage.mail.archives import Unpacked
from triage.mail.body_text import (
    TEXT_CHARACTERS,
    find_links,
    text_of_html,
    unflow,
    worth_following,
)
from triage.mail.charsets import decode_text
from triage.mail.file_names import safe_file_name, safe_inner_path
from triage.mail.files import FoundFile, Verdict, is_attached_mail, judge_file
from triage.mail.headers import Headers
from triage.mail.identity import text_digest
from triage.mail.layers import Choice, Layer, envelopes_of
from triage.mail.limits import Limits
from triage.mail.outlook import OutlookMail
from triage.mail.photographers import says_they_are_own
from triage.mail.pictures import pair_moving_halves
from triage.mail.records import Envelope, Part, PartOutcome
from triage.mail.structure import Entity, read_structure, walk_leaves
from triage.mail.transfer import split_uuencoded
from triage.standards.counting import counted
from triage.standards.digests import digest_of

_LETTERS = ("text/plain", "text/html", "text/enriched", "text/x-amp-html")
_MAILS = ("message/rfc822", "message/global", "message/news")
_LETTER_SUFFIXES = (".txt", ".htm", ".html")
# Exchange servers make such files of the texts between and after the attachments of a mail.
_EXCHANGE_NAME = re.compile(r"(?i)^ATT\d{1,6}\.(?:txt|html?)$")
_SHOWN_ID = re.compile(r"(?i)\bcid:([^\s\"'<>)]{1,300})")
_PROBLEMS = 100
_LINKS = 2000  # of one message that are looked at


@dataclass(slots=True, kw_only=True)
class Opening:
    """What has been found in a message so far, and how much may still be unpacked."""

    limits: Limits
    bounced: bool = False
    layers: list[Layer] = field(default_factory=list)
    parts: list[Part] = field(default_factory=list)
    digests: list[str] = field(default_factory=list)
    problems: list[str] = field(default_factory=list)
    unpacked_bytes: int = 0
    paths: set[str] = field(default_factory=set)

    # -- mails ---------------------------------------------------------------------------------

    def open_mail(self, entity: Entity, depth: int) -> None:
        """Take in one mail: its sender, its texts, its files."""
        layer = self.new_layer(entity.headers)
        self.find_shown(entity, layer)
        self.visit(entity, layer, depth, None)

    def open_outlook(self, mail: OutlookMail, path: str, layer: int, depth: int) -> None:
        """Take in what Outlook packed; ``layer`` is the mail it belongs to."""
        prefix = f"{path}/" if path else ""
        for problem in mail.problems:
            self.note(f"part {path}: {problem}" if path else problem)
        self.outlook_texts(mail, prefix, layer)
        for number, file in enumerate(mail.files, start=1):
            inner = file.unpacked
            self.digests.append(digest_of(inner.content))
            found = FoundFile(
                path=f"{prefix}{number}",
                layer=layer,
                name=safe_file_name(inner.name),
                declared_type=inner.declared_type,
                content=inner.content,
                inline=bool(file.content_id) and file.content_id in self.layers[layer].shown_ids,
                depth=depth + 1,
            )
            if inner.problem:
                self.note(f"part {found.path}: {inner.problem}")
                self.add(found, UNKNOWN_TYPE, "nothing to keep", inner.problem)
            else:
                self.open_file(found)
        for number, attached in enumerate(mail.mails, start=len(mail.files) + 1):
            inner_layer = self.new_layer(attached.headers)
            self.open_outlook(attached, f"{prefix}{number}", inner_layer, depth + 1)

    def outlook_texts(self, mail: OutlookMail, prefix: str, layer: int) -> None:
        """Read the texts that Outlook stored; a winmail.dat often repeats the text beside it."""
        choice = Choice(plain=[mail.text] if mail.text else [])
        place = FoundFile(path=f"{prefix}text", layer=layer, name="", declared_type="", content=b"")
        if mail.text:
            self.digests.append(text_digest(mail.text))
            self.add(place, "text/plain", "nothing to keep", "the message's text, read")
        if mail.html:
            self.digests.append(text_digest(mail.html))
            self.layers[layer].shown_ids.update(_SHOWN_ID.findall(mail.html))
            text, links = text_of_html(mail.html)
            self.layers[layer].links.extend(links)
            choice.html.append(text)
            reason = "the message's text as HTML, read without its markup"
            self.add(replace(place, path=f"{prefix}html"), "text/html", "nothing to keep", reason)
        text = choice.best()
        if text.strip() and not self.layers[layer].texts:
            self.layers[layer].texts.append(text)

    def new_layer(self, headers: Headers) -> int:
        self.layers.append(Layer(headers=headers))
        return len(self.layers) - 1

    def find_shown(self, entity: Entity, layer: int) -> None:
        """Note which parts the HTML texts of this mail show (RFC 2392)."""
        for leaf in walk_leaves(entity):
            if leaf.declared_type == "text/html" and leaf.disposition != "attachment":
                charset = leaf.type_parameters.get("charset", "")
                source = decode_text(leaf.decoded()[0], charset)[0]
                self.layers[layer].shown_ids.update(_SHOWN_ID.findall(source))

    def visit(self, entity: Entity, layer: int, depth: int, choice: Choice | None) -> None:
        """Take in one node of the tree; ``choice`` collects the texts of one alternative."""
        if not entity.children:
            self.leaf(entity, layer, depth, choice)
            return
        own_choice = Choice() if entity.declared_type == "multipart/alternative" else None
        for child in entity.children:
            self.visit(child, layer, depth, own_choice or choice)
        if own_choice and (text := own_choice.best()).strip():
            (choice.plain if choice else self.layers[layer].texts).append(text)

    def leaf(self, entity: Entity, layer: int, depth: int, choice: Choice | None) -> None:
        """Take in one part without children: a text, a mail or a file."""
        if len(self.parts) >= self.limits.parts:
            self.note(f"more than {self.limits.parts} parts; the rest is not opened")
            return
        path, declared = entity.path or "1", entity.declared_type
        name = safe_file_name(entity.name)
        if declared in _MAILS and entity.is_plain:
            found = FoundFile(
                path=path, layer=layer, name=name, declared_type=declared, content=b"", depth=depth
            )
            self.forwarded_mail(found, entity.raw, entity.start, entity.end)
            return
        content, problem = entity.decoded()
        if problem:
            self.note(f"part {path}: {problem}")
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
        is_mail = declared in _MAILS and sniff_media_type(content) == UNKNOWN_TYPE
        if is_mail or is_attached_mail(found):
            self.forwarded_mail(found, content, 0, len(content))
        elif _is_letter(entity, found):
            self.letter(entity, found, choice)
        else:
            self.digests.append(digest := digest_of(content))
            self.open_file(replace(found, digest=digest))

    def forwarded_mail(self, found: FoundFile, raw: bytes, start: int, end: int) -> None:
        """Open the mail between ``start`` and ``end`` of ``raw``, which is attached to this one."""
        if found.depth >= self.limits.nesting:
            whole = replace(found, content=raw[start:end])
            self.digests.append(digest_of(whole.content))
            reason = f"a mail nested deeper than {self.limits.nesting} levels; not opened"
            self.add(whole, "message/rfc822", "kept, other kind", reason)
            return
        inner = read_structure(
            raw,
            start=start,
            end=end,
            limits=self.limits,
            path=found.path,
            depth=found.depth + 1,
            problems=self.problems,
        )
        self.add(found, "message/rfc822", "nothing to keep", "a forwarded mail, opened")
        self.open_mail(inner, found.depth + 1)

    # -- texts ---------------------------------------------------------------------------------

    def letter(self, entity: Entity, found: FoundFile, choice: Choice | None) -> None:
        """Read a text part; files that stand in it in letters come out as files."""
        content = found.content
        uuencoded, left = split_uuencoded(content) if b"begin " in content else ([], content)
        text, problem = decode_text(left, entity.type_parameters.get("charset", ""))
        if problem:
            self.note(f"part {found.path}: {problem}")
        self.digests.append(text_digest(text))
        marked_up = entity.declared_type in ("text/html", "text/x-amp-html")
        reason = "the message's text, read"
        if marked_up:
            text, links = text_of_html(text)
            self.layers[found.layer].links.extend(links)
            reason = "the message's text as HTML, read without its markup"
        elif entity.type_parameters.get("format", "").lower() == "flowed":
            delete_space = entity.type_parameters.get("delsp", "").lower() == "yes"
            text = unflow(text, delete_space=delete_space)
        if choice is not None:
            (choice.html if marked_up else choice.plain).append(text)
            if marked_up and choice.plain_says():
                reason = "the message's text again as HTML"
        elif text.strip():
            self.layers[found.layer].texts.append(text)
        if not text.strip():
            reason = "an empty text"
        media_type = "text/html" if marked_up else "text/plain"
        self.add(found, media_type, "nothing to keep", reason)
        inner = (
            Unpacked(name=decode_text(n, "")[0], content=c, problem=p) for n, c, p in uuencoded
        )
        for failure in self.inner_files(found, inner)[0]:
            self.note(f"part {found.path}: {failure}")

    # -- files ---------------------------------------------------------------------------------

    def open_file(self, found: FoundFile) -> None:
        """Record what a file is and what becomes of it; containers are opened."""
        budget = self.limits.expanded_bytes - self.unpacked_bytes
        verdict = judge_file(found, limits=self.limits, budget=budget)
        outcome, reason = verdict.outcome, verdict.reason
        is_container = verdict.files is not None or verdict.outlook or verdict.signed
        if is_container and found.depth >= self.limits.nesting:
            reason = f"{reason}, nested too deep; not opened"
            self.add(found, verdict.media_type, "kept, other kind", reason)
        elif is_container:
            self.open_container(found, verdict)
        elif outcome == "taken in" and self.bounced:
            reason = "part of a mail that came back undelivered"
            self.add(found, verdict.media_type, "kept, not examined", reason)
        else:
            self.add(found, verdict.media_type, outcome, reason)

    def open_container(self, found: FoundFile, verdict: Verdict) -> None:
        """Open what is inside; a container that could not wholly be opened is itself kept."""
        place, identified = len(self.parts), len(self.digests)
        problems_before = len(self.problems)
        reason = verdict.reason
        failures: list[str] = []
        if verdict.files is not None:
            failures, opened = self.inner_files(found, verdict.files)
            reason = f"{reason}, {counted(opened, 'file')} opened"
        elif verdict.outlook is not None:
            layer = found.layer
            if verdict.media_type == "application/vnd.ms-outlook":
                layer = self.new_layer(verdict.outlook.headers)
            self.open_outlook(verdict.outlook, found.path, layer, found.depth)
            failures = self.problems[problems_before:] if verdict.outlook.problems else []
            reason = f"{reason}, opened"
        else:
            self.signed_mail(found, verdict.signed)
        # The container's own bytes identify the message already; what a reader finds inside
        # may change with the reader.
        del self.digests[identified:]
        if failures:
            shown = "; ".join(failures[:3])
            more = f"; and {len(failures) - 3} more" if failures[3:] else ""
            reason = f"{reason}, not everything could be: {shown}{more}"
            self.note(f"part {found.path}: {shown}{more}")
            self.add(found, verdict.media_type, "kept, other kind", reason, place=place)
        else:
            self.add(found, verdict.media_type, verdict.outcome, reason, place=place)

    def signed_mail(self, found: FoundFile, signed: bytes) -> None:
        """Open the MIME entity in an opaque signature; it belongs to the mail around it."""
        entity = read_structure(
            signed,
            limits=self.limits,
            path=f"{found.path}/signed",
            depth=found.depth + 1,
            problems=self.problems,
        )
        self.find_shown(entity, found.layer)
        self.visit(entity, found.layer, found.depth + 1, None)

    def inner_files(self, container: FoundFile, files: Iterable[Unpacked]) -> tuple[list[str], int]:
        """Open the files of a container; return what failed and how many were opened."""
        failures: list[str] = []
        opened = 0
        for file in files:
            if len(self.parts) >= self.limits.parts:
                failures.append(f"more than {self.limits.parts} parts; the rest is not opened")
                break
            if file.aside:
                aside = self.inside(container, file, opened)
                self.add(aside, UNKNOWN_TYPE, "nothing to keep", file.aside)
                continue
            if file.problem:
                failures.append(f"{file.name}: {file.problem}" if file.name else file.problem)
            if file.problem and not file.content:
                continue
            self.unpacked_bytes += len(file.content)
            opened += 1
            found = self.inside(container, file, opened)
            if is_attached_mail(found):
                self.forwarded_mail(found, file.content, 0, len(file.content))
            else:
                self.open_file(found)
        return failures, opened

    def inside(self, container: FoundFile, file: Unpacked, number: int) -> FoundFile:
        """A file of a container with its place in the message."""
        inner_path = safe_inner_path(file.name) or f"file-{number}"
        return FoundFile(
            path=f"{container.path}/{container.name or 'text'}/{inner_path}",
            layer=container.layer,
            name=safe_file_name(file.name),
            declared_type=file.declared_type,
            content=file.content,
            depth=container.depth + 1,
        )

    def add(
        self,
        found: FoundFile,
        media_type: str,
        outcome: PartOutcome,
        reason: str,
        *,
        place: int | None = None,
    ) -> None:
        """Record one part; ``place`` puts a container before what was in it."""
        part = Part(
            path=self.unique_path(found.path),
            envelope=found.layer,
            file_name=found.name,
            declared_type=found.declared_type,
            media_type=media_type,
            outcome=outcome,
            reason=reason,
            content=b"" if outcome == "nothing to keep" else found.content,
            digest=found.digest,
        )
        self.parts.insert(len(self.parts) if place is None else place, part)

    def add_whole(self, raw: bytes, reason: str) -> None:
        """Record the message itself as its one part, where nothing in it could be reached."""
        whole = FoundFile(path="1", layer=0, name="", declared_type="", content=raw)
        self.add(whole, sniff_media_type(raw), "kept, other kind", reason)

    def unique_path(self, path: str) -> str:
        candidate, number = path, 1
        while candidate in self.paths:
            number += 1
            candidate = f"{path}~{number}"
        self.paths.add(candidate)
        return candidate

    def note(self, problem: str) -> None:
        if problem not in self.problems and len(self.problems) < _PROBLEMS:
            self.problems.append(problem)

    # -- the result ----------------------------------------------------------------------------

    def finished(self) -> tuple[tuple[Envelope, ...], tuple[Part, ...], tuple[str, ...]]:
        """Divide the texts among their authors; return envelopes, parts and links."""
        envelopes: list[Envelope] = []
        author_of_files: list[int] = []
        for layer in self.layers:
            authors = envelopes_of(layer)
            # What a forwarded mail carried stays attached to the outer one: its files are those
            # of the innermost author, unless one before calls them his own.
            own = (n for n, one in enumerate(authors[:-1]) if says_they_are_own(one.text))
            author_of_files.append(len(envelopes) + next(own, len(authors) - 1))
            envelopes.extend(authors)
        parts = [replace(part, envelope=author_of_files[part.envelope]) for part in self.parts]
        links = [link for envelope in envelopes for link in find_links(envelope.text)]
        links += [link for layer in self.layers for link in layer.links]
        brought = any(part.outcome == "taken in" for part in parts)
        links = worth_following(links[:_LINKS], brought=brought)
        return tuple(envelopes), tuple(pair_moving_halves(parts)), tuple(dict.fromkeys(links))


def _is_letter(entity: Entity, found: FoundFile) -> bool:
    """Tell a text to read from a text that is a file, or a file that is called a text."""
    is_file = bool(found.name) and (
        entity.disposition == "attachment" or not found.name.lower().endswith(_LETTER_SUFFIXES)
    )
    return (
        found.declared_type in _LETTERS
        and (not is_file or bool(_EXCHANGE_NAME.match(found.name)))
        and sniff_media_type(found.content, file_name=found.name) == UNKNOWN_TYPE
        and len(found.content) < 4 * TEXT_CHARACTERS
    )
