"""Fingerprints of photos in, copy groups and bursts with their evidence out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True, kw_only=True)
class Fingerprint:
    """What the search for copies keeps of one photo.

    ``phash`` is a 256-bit DCT hash as 64 hexadecimal digits. ``captured`` is local ISO time or
    empty. Sender and camera are opaque keys, empty when unknown. ``metadata_fields`` counts the
    capture facts the file carries, for choosing the best copy.
    """

    sha256: str
    phash: str
    width: int
    height: int
    byte_size: int
    sender: str = ""
    camera: str = ""
    captured: str = ""
    decimal_latitude: float | None = None
    decimal_longitude: float | None = None
    metadata_fields: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoLink:
    """Two photos and why they belong together: as copies of one exposure, or as a burst."""

    kind: Literal["copy", "burst"]
    first: str
    second: str
    evidence: str
