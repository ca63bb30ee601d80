"""A folder, .eml, mbox, Maildir or zip in, the raw mails and loose photo files in it out."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal


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
