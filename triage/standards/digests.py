"""The digests that name files, photos and records: SHA-256 (FIPS 180-4) in hexadecimal digits."""

from __future__ import annotations

import hashlib
from pathlib import Path

SHORT = 16  # digits of an identifier: 64 bits, for which chance collisions need billions of records


def digest_of(content: bytes) -> str:
    """The digest of a file's bytes, 64 hexadecimal digits.

    >>> digest_of(b"abc")[:16]
    'ba7816bf8f01cfea'
    """
    return hashlib.sha256(content).hexdigest()


def digest_of_file(path: Path) -> str:
    """The digest of a file on the disk, read in portions."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def short_digest_of(text: str) -> str:
    """Sixteen hexadecimal digits that stand for a text."""
    return digest_of(text.encode())[:SHORT]
