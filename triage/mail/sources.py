"""Find the raw mails and loose photos in a folder, .eml, mbox, Maildir or zip."""

from __future__ import annotations

import os
import re
import shutil
import tempfile
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path, PurePath
from typing import IO, Literal, cast

from triage.analysis.media_types import (
    UNKNOWN_TYPE,
    describe_media_type,
    is_picture,
    sniff_media_type,
)
from triage.errors import SourceError
from triage.mail.archives import (
    SOURCE_DIRECTORY_BYTES,
    ZipReader,
    describe,
    is_irrelevant,
    zip_document_type,
)
from triage.mail.charsets import decode_text
from triage.mail.limits import MEBIBYTE, Limits
from triage.mail.mbox import iter_mbox, starts_like_mbox

__all__ = ["Delivery", "Limits", "iter_source"]

_HEAD_BYTES = 16_384
_SPOOLED_BYTES = 32 * MEBIBYTE  # of an archive inside an archive, before it goes to the disk
_ARCHIVE_DEPTH = 3  # archives inside archives that are sources themselves
DEFAULT_LIMITS = Limits()
LEADS_OUT = "a link to a {0} outside of this folder, not followed; copy the {0} here to have it"

_MAIL_FIELDS = re.compile(
    rb"(?im)^(?:from|to|date|subject|received|return-path|message-id|mime-version|delivered-to|"
    rb"content-type|x-[a-z-]+|dkim-signature|reply-to|cc)[ \t]*:"
)
_FIRST_FIELD = re.compile(rb"\s*(?:>?From [^\r\n]*\r?\n)?[!-9;-~]{1,80}[ \t]*:")
_MAILDIR_OWN = re.compile(
    r"^(?:dovecot[-.].*|maildirfolder|maildirsize|subscriptions|courierimap.*|\.dovecot.*|"
    r"cyrus\..*|\.mh_sequences|\.mh_profile)$"
)
_KEPT_KINDS = ("video/", "audio/", "image/")
_KEPT_DOCUMENTS = (
    "application/pdf",
    "application/rtf",
    "application/vnd.openxmlformats-officedocument",
    "application/vnd.oasis.opendocument",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Delivery:
    """One thing a source held: a raw mail, a loose photo file, or a file that could not be read.

    ``origin`` names the source file and the place in it, for messages to people.
    ``problem`` is empty unless ``kind`` is ``unreadable``.
    """

    kind: Literal["message", "file", "unreadable"]
    origin: str
    name: str
    raw: bytes = field(repr=False, default=b"")
    problem: str = ""


def iter_source(source: Path, *, limits: Limits = DEFAULT_LIMITS) -> Iterator[Delivery]:
    """Yield everything that a source holds, in a fixed order, one thing in memory at a time.

    Files that are neither mail nor photo come out as ``unreadable`` with the reason; only what
    operating systems and mail servers put into folders by themselves is passed over. So do links in
    a folder that lead out of it: whoever filled the folder could have other files taken in by them.

    Raises
    ------
    SourceError
        If the source itself does not exist.
    """
    if not source.exists():
        raise SourceError(
            "there is no such file or folder",
            failing=shown_name(source),
            next_step="Check the spelling, or give the folder that holds the mail.",
        )
    if source.is_dir():
        yield from _iter_folder(source, limits)
    else:
        yield from _iter_file(source, limits)


def _iter_folder(folder: Path, limits: Limits) -> Iterator[Delivery]:
    unreached: list[OSError] = []
    inside = folder.resolve()
    for parent, folders, files in os.walk(folder, onerror=unreached.append):
        folders[:] = sorted(name for name in folders if not is_irrelevant(name + "/"))
        where = Path(parent)
        for path in (where / name for name in folders):
            if leads_out_of(
                inside, path
            ):  # a walk enters no link, and another is read in its place
                yield _unreadable(shown_name(path), "", LEADS_OUT.format("folder"))
        for name in sorted(files):
            if is_irrelevant(name) or _MAILDIR_OWN.match(name):
                continue
            if leads_out_of(inside, where / name):
                origin = shown_name(where / name)
                yield _unreadable(origin, shown_name(Path(name)), LEADS_OUT.format("file"))
            else:
                yield from _iter_file(where / name, limits)
    for error in unreached:
        shown = shown_name(Path(error.filename))
        yield _unreadable(shown, "", f"the folder cannot be read: {error.strerror}")


def leads_out_of(folder: Path, path: Path) -> bool:
    """Whether a path in a folder, itself without links, is a link to something outside of it."""
    try:
        return path.is_symlink() and not path.resolve().is_relative_to(folder)
    except (OSError, RuntimeError):  # a link that leads to itself
        return False


def _iter_file(path: Path, limits: Limits) -> Iterator[Delivery]:
    origin, name = shown_name(path), shown_name(Path(path.name))
    try:
        if not path.is_file():
            yield _unreadable(origin, name, "not a regular file")
            return
        if _in_maildir(path, "tmp"):
            yield _unreadable(origin, name, "still being delivered; receive again later")
            return
        with path.open("rb") as stream:
            head, size = stream.read(_HEAD_BYTES), os.fstat(stream.fileno()).st_size
            stream.seek(0)
            yield from _Opened(
                origin, name, stream, head, size, limits, _in_maildir(path, "cur", "new"), 0
            ).deliveries()
    except OSError as error:
        yield _unreadable(origin, name, f"the file cannot be read: {error.strerror or error}")


def shown_name(path: PurePath) -> str:
    """A path as text that can be shown and kept: names of files are bytes from outside.

    Bytes that are no UTF-8 are read as the letters of an older system.

    Examples
    --------
    >>> shown_name(Path("pond_\\udcfc.jpg"))
    'pond_ü.jpg'
    """
    name = str(path)
    try:
        name.encode("utf-8")
        return name
    except UnicodeEncodeError:
        return decode_text(name.encode("utf-8", "surrogateescape"), "")[0]


def _in_maildir(path: Path, *folders: str) -> bool:
    """Tell whether a file lies in one of these folders of a Maildir."""
    beside = path.parent.parent
    return path.parent.name in folders and all((beside / n).is_dir() for n in ("cur", "new", "tmp"))


@dataclass(frozen=True, slots=True)
class _Opened:
    """One open file, on disk or in an archive, with what is known of it.

    ``head`` is how it begins, and ``stream`` stands before that: a step back in an entry of an
    archive makes newer versions of zipfile check it no longer.
    """

    origin: str
    name: str
    stream: IO[bytes]
    head: bytes
    size: int
    limits: Limits
    surely_mail: bool
    depth: int

    def deliveries(self) -> Iterator[Delivery]:
        head = self.head
        suffix = self.name.lower().rpartition(".")[2]
        media_type = sniff_media_type(head, file_name=self.name)
        if not head:
            yield self.refused("the file is empty")
        elif media_type == "application/zip" and zip_document_type(head) == "application/zip":
            yield from self.zip_files()
        elif media_type == UNKNOWN_TYPE and not self.surely_mail and starts_like_mbox(head):
            yield from self.mbox_mails()
        elif media_type == "application/x-ole-storage" and suffix == "msg":
            yield from self.whole("message")
        elif (
            is_picture(media_type)
            or media_type.startswith(_KEPT_KINDS)
            or media_type in _KEPT_DOCUMENTS
            or zip_document_type(head) in _KEPT_DOCUMENTS
        ):
            yield from self.whole("file")
        elif media_type != UNKNOWN_TYPE:
            yield self.refused(
                f"{describe_media_type(media_type)}, neither mail nor photo; unpack or convert it"
            )
        elif suffix == "emlx":
            yield from self.emlx_mail()
        elif self.surely_mail or suffix == "eml" or _looks_like_mail(head):
            yield from self.whole("message")
        else:
            yield self.refused("neither a mail nor a photo")

    def whole(self, kind: Literal["message", "file"]) -> Iterator[Delivery]:
        allowed = self.limits.message_bytes if kind == "message" else self.limits.file_bytes
        if self.size > allowed:
            yield self.refused(f"larger than {allowed // MEBIBYTE} MiB; not opened")
            return
        yield Delivery(kind=kind, origin=self.origin, name=self.name, raw=self.stream.read())

    def emlx_mail(self) -> Iterator[Delivery]:
        """Read a mail whose first line counts its bytes and which a property list follows."""
        for delivery in self.whole("message"):
            count, _, rest = delivery.raw.partition(b"\n")
            if delivery.kind == "message" and count.strip().isdigit():
                rest = rest[: int(count.strip()[:12])]
                delivery = Delivery(kind="message", origin=self.origin, name=self.name, raw=rest)
            yield delivery

    def mbox_mails(self) -> Iterator[Delivery]:
        for mail in iter_mbox(self.stream, limits=self.limits):
            origin = f"{self.origin}, mail {mail.number} at byte {mail.offset}"
            if mail.size > self.limits.message_bytes:
                limit = self.limits.message_bytes // MEBIBYTE
                yield _unreadable(
                    origin, self.name, f"the mail is larger than {limit} MiB; not opened"
                )
            else:
                yield Delivery(kind="message", origin=origin, name=self.name, raw=mail.raw)

    def zip_files(self) -> Iterator[Delivery]:
        if self.depth >= _ARCHIVE_DEPTH:
            yield self.refused("an archive nested too deep; unpack it first")
            return
        try:
            reader = ZipReader(
                self.stream, limits=self.limits, directory_bytes=SOURCE_DIRECTORY_BYTES
            )
            entries = reader.entries()
        except Exception as error:  # hostile directories make zipfile raise many kinds
            yield self.refused(f"the zip archive cannot be read: {describe(error)}")
            return
        if not entries:
            yield self.refused("the zip archive holds no files")
        for number, entry in enumerate(sorted(entries, key=lambda entry: entry.filename)):
            if number >= self.limits.archive_files:
                yield self.refused(
                    f"more than {self.limits.archive_files} files; the rest is not opened"
                )
                return
            yield from self.zip_entry(reader, entry)

    def zip_entry(self, reader: ZipReader, entry: zipfile.ZipInfo) -> Iterator[Delivery]:
        origin = f"{self.origin}, {entry.filename}"
        name = entry.filename.replace("\\", "/").rpartition("/")[2]
        if _MAILDIR_OWN.match(name):
            return
        refusal = reader.refusal(entry)
        is_mbox = refusal and self.is_mbox_entry(reader, entry)
        if refusal and not is_mbox:
            yield _unreadable(origin, name, refusal)
            return
        try:
            with reader.archive.open(entry) as packed:
                head = packed.read(_HEAD_BYTES)
            with reader.archive.open(entry) as packed, _seekable(packed, entry.filename) as stream:
                inner = _Opened(
                    origin, name, stream, head, entry.file_size, self.limits, False, self.depth + 1
                )
                yield from inner.deliveries()
        except GeneratorExit:
            raise
        except Exception as error:  # zlib, lzma, bz2 and zipfile each raise their own
            yield _unreadable(origin, name, f"the archive is damaged here: {describe(error)}")

    def is_mbox_entry(self, reader: ZipReader, entry: zipfile.ZipInfo) -> bool:
        """An mbox of any size may come packed: it is streamed, so its size is no danger."""
        allowed = self.limits.expansion_ratio * entry.compress_size
        if entry.flag_bits & 1 or not self.limits.file_bytes < entry.file_size <= allowed:
            return False
        try:
            with reader.archive.open(entry) as stream:
                return starts_like_mbox(stream.read(_HEAD_BYTES))
        except Exception:  # the entry is then refused for its size
            return False

    def refused(self, problem: str) -> Delivery:
        return _unreadable(self.origin, self.name, problem)


@contextmanager
def _seekable(packed: IO[bytes], name: str) -> Iterator[IO[bytes]]:
    """Unpack an archive inside an archive once: every step back in it would unpack it anew."""
    if not name.lower().endswith(".zip"):
        yield packed
        return
    with tempfile.SpooledTemporaryFile(max_size=_SPOOLED_BYTES) as spooled:
        shutil.copyfileobj(packed, spooled)
        spooled.seek(0)
        yield cast(IO[bytes], spooled)


def _looks_like_mail(head: bytes) -> bool:
    head = head.removeprefix(b"\xef\xbb\xbf")
    return bool(_FIRST_FIELD.match(head)) and len(set(_MAIL_FIELDS.findall(head))) >= 2


def _unreadable(origin: str, name: str, problem: str) -> Delivery:
    return Delivery(kind="unreadable", origin=origin, name=name, problem=problem)
