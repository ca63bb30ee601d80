"""The bytes of one photo file in, everything a single photo can say (Examined) out."""

from __future__ import annotations

from dataclasses import dataclass, field

from triage.metadata.exif import ExifRecord
from triage.photos import Photo
from triage.quality import Measurement


@dataclass(frozen=True, slots=True, kw_only=True)
class Examined:
    """What one photo says by itself. ``measurement`` is None and ``problem`` says why when the
    pixels cannot be decoded; ``preview`` is a JPEG of at most 512 pixels, upright, without
    metadata."""

    photo: Photo
    exif: ExifRecord
    measurement: Measurement | None
    phash: str
    preview: bytes = field(repr=False, default=b"")
    problem: str = ""
