"""The digests that name files, photos and records: SHA-256 (FIPS 180-4) in hexadecimal digits."""

from __future__ import annotations

import hashlib
import re
from pathlib import Path

SHORT = 16  # digits of an identifier: 64 bits, for which chance collisions need billions of records
_DIGEST = re.compile(r"[0-9a-f]{64}")


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


def is_digest(text: str) -> bool:
    """Whether a text has the form of a digest; any other is no part of a path.

    >>> is_digest(digest_of(b"abc")), is_digest("../abc")
    (True, False)
    """
    return _DIGEST.fullmatch(text) is not None


def short_digest_of(text: str) -> str:
    """Sixteen hexadecimal digits that stand for a text."""
    return digest_of(text.encode())[:SHORT]
