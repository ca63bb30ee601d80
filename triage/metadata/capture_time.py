"""Exif, file name and mail date in, claims of when a photo was taken out, doubts included."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

TimeSource = Literal[
    "coordinator", "sender's answer", "gps clock", "camera clock", "message text", "file name"
]


@dataclass(frozen=True, slots=True, kw_only=True)
class TimeClaim:
    """One statement of when, with its source; a claim is never overwritten, only outranked.

    ``event_date`` is ISO 8601-1: an instant with offset, a local time without, a day, or an
    interval of days. ``doubts`` are one-clause reasons not to believe it as it stands; a claim
    with a doubt is shown to the coordinator. ``zone`` is an IANA name or empty.
    """

    source: TimeSource
    event_date: str
    uncertainty_seconds: float
    verbatim: str = ""
    zone: str = ""
    doubts: tuple[str, ...] = ()
    note: str = ""
