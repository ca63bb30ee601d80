"""How much of a hostile message is opened: the bounds that every reader of mail keeps."""

from __future__ import annotations

from dataclasses import dataclass

MEBIBYTE = 1024 * 1024


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """Bounds on one message, so that no mail exhausts memory or time.

    The byte bounds are far above what mail servers accept (25 to 50 MB is usual; common
    practice, no source) and low enough that one message fits an old laptop.
    """

    message_bytes: int = 100 * MEBIBYTE
    """A raw message longer than this is not opened."""
    file_bytes: int = 200 * MEBIBYTE
    """A loose file or a file in an archive longer than this is not opened."""
    expanded_bytes: int = 200 * MEBIBYTE
    """All files unpacked from the archives of one message together."""
    expansion_ratio: int = 200
    """Unpacked over packed size of one archive entry above which it counts as a bomb."""
    nesting: int = 10
    """Levels of multiparts, forwarded mails and archives inside each other."""
    parts: int = 1000
    """Parts of one message, files in its archives included."""
    archive_files: int = 200_000
    """Files in one archive that is itself the source."""
