"""Identify a mail by what it says and carries, the same on every way it comes.

The same mail out of an mbox, an IMAP server and an .eml file differs in trace headers, line ends
and quoted ``From`` lines, never in its decoded text and parts. Those make the identifier.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import UTC, datetime

from triage.standards.digests import digest_of

IDENTIFIER_DIGITS = 32  # hexadecimal, of SHA-256

_FROM_QUOTED = re.compile(r"(?m)^>+(?=From )")
# A list manager appends its address under a line of underscores: not part of what was said.
_LIST_FOOTER = re.compile(r"(?:^|\n)_{30,}[ \t\r]*\n(?:[^\n]*(?:\n|\Z)){0,8}\s*\Z")


def canonical_text(text: str) -> str:
    """Reduce a text to its words: no From quoting, no list footer, one space between words.

    Examples
    --------
    >>> canonical_text("Seen:\\r\\n>From  the bridge\\r\\n")
    'Seen: From the bridge'
    """
    text = _FROM_QUOTED.sub("", text.replace("\r\n", "\n"))
    return " ".join(_LIST_FOOTER.sub("", text).split())


def text_digest(text: str) -> str:
    """Return the SHA-256 of the canonical text, or an empty text where nothing is left."""
    canonical = canonical_text(text)
    return digest_of(canonical.encode("utf-8", "surrogatepass")) if canonical else ""


def mail_identifier(
    *, message_id: str, sender: str, sent_at: datetime | None, digests: Sequence[str]
) -> str:
    """Derive the identifier of a mail from its Message-ID, or sender and date, and its content.

    ``digests`` are those of its texts and files in their order; empty ones are passed over.
    """
    origin = ["id", message_id] if message_id else ["from", sender.casefold(), _instant(sent_at)]
    return _derived(["mail", *origin, *[digest for digest in digests if digest]])


def file_identifier(*, name: str, content_digest: str) -> str:
    """Derive the identifier of a loose file from its name and content."""
    return _derived(["file", name, content_digest])


def _derived(pieces: list[str]) -> str:
    # Lengths keep ("ab", "c") and ("a", "bc") apart.
    framed = "".join(f"{len(piece)}:{piece}," for piece in pieces)
    return digest_of(framed.encode("utf-8", "surrogatepass"))[:IDENTIFIER_DIGITS]


def _instant(moment: datetime | None) -> str:
    if moment is None:
        return ""
    if moment.tzinfo is None:
        return moment.isoformat()
    return moment.astimezone(UTC).isoformat()
