"""Open a zip archive that a mail carries, or say why not.

Hostile archives: names are made harmless, sizes are counted while unpacking and never believed,
entries that expand suspiciously are not opened (PKWARE APPNOTE; common practice for the bounds).
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import IO

from triage.mail.file_names import safe_inner_path
from triage.mail.limits import MEBIBYTE, Limits

_ENCRYPTED = 0x1  # general purpose bit 0, APPNOTE 4.4.4
_RATIO_FLOOR = MEBIBYTE  # unpacked bytes under which any ratio is harmless
_STEP = 256 * 1024
# A line of an archive's list of files takes 46 bytes and the name; in memory ten times that.
ATTACHED_DIRECTORY_BYTES = 2 * MEBIBYTE
SOURCE_DIRECTORY_BYTES = 64 * MEBIBYTE
LEFT_ASIDE = "a side file of the sender's operating system, no picture of its own"
_IRRELEVANT = ("__macosx/", ".ds_store", "thumbs.db", "desktop.ini", "._")


@dataclass(frozen=True, slots=True, kw_only=True)
class Unpacked:
    """One file out of a container, why it could not be had, or why it is left ``aside``."""

    name: str
    content: bytes = field(repr=False, default=b"")
    declared_type: str = ""
    problem: str = ""
    aside: str = ""


class _RefusedArchive(ValueError):
    """An archive is not opened, for a reason that is said in words of our own."""


class ZipReader:
    """An open zip archive whose entries come out within limits."""

    def __init__(self, source: IO[bytes], *, limits: Limits, directory_bytes: int) -> None:
        self.limits = limits
        if _directory_size(source) > directory_bytes:
            raise _RefusedArchive("it lists more files than are opened")
        self.archive = zipfile.ZipFile(source)
        packed = sum(entry.compress_size for entry in self.archive.infolist())
        if packed > source.seek(0, io.SEEK_END):
            raise _RefusedArchive("its files overlap, as in archives made to overwhelm")

    def entries(self) -> list[zipfile.ZipInfo]:
        """Return the files in it, without folders and without what systems add by themselves."""
        return [
            entry
            for entry in self.archive.infolist()
            if not entry.is_dir() and not is_irrelevant(entry.filename)
        ]

    def left_aside(self) -> list[zipfile.ZipInfo]:
        """Return what the sender's system added, few enough to be listed."""
        files = (entry for entry in self.archive.infolist() if not entry.is_dir())
        return [entry for entry in files if is_irrelevant(entry.filename)][: self.limits.parts // 4]

    def refusal(self, entry: zipfile.ZipInfo) -> str:
        """Say why an entry is not opened, or return an empty text."""
        if entry.flag_bits & _ENCRYPTED:
            return "the file in the archive needs a password; ask the sender to send it without"
        if entry.file_size > self.limits.file_bytes:
            return (
                f"the file in the archive is larger than {self.limits.file_bytes // MEBIBYTE} MiB"
            )
        if entry.file_size > max(_RATIO_FLOOR, self.limits.expansion_ratio * entry.compress_size):
            return "the file in the archive expands so much that it is taken for a bomb; not opened"
        return ""

    def read(self, entry: zipfile.ZipInfo) -> Unpacked:
        """Unpack one entry, counting what really comes out."""
        name = safe_inner_path(entry.filename)
        if problem := self.refusal(entry):
            return Unpacked(name=name, problem=problem)
        pieces: list[bytes] = []
        total = 0
        try:
            with self.archive.open(entry) as stream:
                while piece := stream.read(_STEP):
                    total += len(piece)
                    if total > entry.file_size or total > self.limits.file_bytes:
                        return Unpacked(
                            name=name, problem="the archive lies about the size of this file"
                        )
                    pieces.append(piece)
        except Exception as error:  # zlib, lzma, bz2 and zipfile each raise their own
            return Unpacked(name=name, problem=f"the archive is damaged here: {describe(error)}")
        return Unpacked(name=name, content=b"".join(pieces))


def unpack_zip(content: bytes, *, limits: Limits, budget: int) -> Iterator[Unpacked]:
    """Yield every file in a zip; ``budget`` is how many bytes may still be unpacked."""
    try:
        reader = ZipReader(
            io.BytesIO(content), limits=limits, directory_bytes=ATTACHED_DIRECTORY_BYTES
        )
        entries = reader.entries()
    except Exception as error:  # hostile directories make zipfile raise many kinds
        yield Unpacked(name="", problem=f"the zip archive cannot be read: {describe(error)}")
        return
    if not entries:
        yield Unpacked(name="", problem="the zip archive holds no files")
    for entry in reader.left_aside():
        yield Unpacked(name=safe_inner_path(entry.filename), aside=LEFT_ASIDE)
    for number, entry in enumerate(entries):
        if number >= limits.parts:
            yield Unpacked(
                name="", problem=f"more than {limits.parts} files; the rest is not opened"
            )
            return
        if entry.file_size > budget:
            yield Unpacked(
                name=safe_inner_path(entry.filename),
                problem="the archives of this message unpack to more than is allowed; not opened",
            )
            continue
        unpacked = reader.read(entry)
        budget -= len(unpacked.content)
        yield unpacked


def zip_document_type(content: bytes) -> str:
    """Tell an Office or OpenDocument file from a plain zip archive by its first entries."""
    head = content[:4096]
    if b"mimetypeapplication/vnd.oasis.opendocument" in head:
        return "application/vnd.oasis.opendocument"
    if b"[Content_Types].xml" in head or b"_rels/.rels" in head:
        return "application/vnd.openxmlformats-officedocument"
    if b"mimetypeapplication/epub" in head:
        return "application/epub+zip"
    return "application/zip"


def is_irrelevant(name: str) -> bool:
    """Tell whether an operating system left this file: folder settings and resource forks."""
    lowered = name.replace("\\", "/").lower()
    base = lowered.rpartition("/")[2]
    return (
        lowered.startswith("__macosx/") or "/__macosx/" in lowered or base.startswith(_IRRELEVANT)
    )


def _directory_size(source: IO[bytes]) -> int:
    """Read how long the list of files is, before zipfile makes an object of every line in it.

    APPNOTE 4.3.16 (end of central directory) and 4.3.14 (the same for large archives).
    """
    source.seek(0, io.SEEK_END)
    source.seek(max(source.tell() - 66_000, 0))
    tail = source.read()
    source.seek(0)
    end = tail.rfind(b"PK\x05\x06")
    size = int.from_bytes(tail[end + 12 : end + 16], "little") if end >= 0 else 0
    large = tail.rfind(b"PK\x06\x06")
    if size == 0xFFFFFFFF and large >= 0:
        size = int.from_bytes(tail[large + 40 : large + 48], "little")
    return size


def describe(error: Exception) -> str:
    """Say why a container cannot be read: in words of our own, whatever its library calls it."""
    if isinstance(error, _RefusedArchive):
        return str(error)
    if isinstance(error, NotImplementedError):
        return "it is packed in a way that is not known here; ask for an ordinary zip"
    return "it is damaged or was cut off; have it sent again"
