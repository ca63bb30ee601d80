"""Read what may be damaged: kept files, and copies of a survey in folders and zips."""

from __future__ import annotations

import contextlib
import zipfile
from collections.abc import Iterator
from pathlib import Path

from triage.analysis.media_types import sniff_media_type
from triage.mail.message import raw_type
from triage.standards.digests import digest_of_file

LARGEST = 500_000_000  # bytes of one file of a copy; mails and photos are far smaller


def digest_of_kept(path: Path) -> str:
    """The digest of a file; nothing for one that the disk no longer gives."""
    try:
        return digest_of_file(path)
    except OSError:
        return ""


def kind_of(content: bytes) -> str:
    """The media type under which content is kept: a photo's, or that of a mail."""
    found = sniff_media_type(content)
    return raw_type(content) if found.startswith(("text/", "application/")) else found


def files_of_copy(copy: Path) -> Iterator[tuple[str, bytes]]:
    """Names and contents of a folder's files, or of a zip's; what cannot be read is passed over."""
    if copy.is_dir():
        for path in sorted(copy.rglob("*")):
            if path.is_file() and not path.is_symlink() and path.stat().st_size <= LARGEST:
                with contextlib.suppress(OSError):
                    yield path.relative_to(copy).as_posix(), path.read_bytes()
        return
    try:
        with zipfile.ZipFile(copy) as archive:
            for entry in archive.infolist():
                if entry.file_size <= LARGEST:
                    with contextlib.suppress(Exception):  # what unpacks raises many kinds
                        yield entry.filename, archive.read(entry)
    except Exception:  # no zip, or one whose list of files is damaged
        yield copy.name, copy.read_bytes()
