"""The bytes of a photo file in, what the file is (digest, format, upright size) out."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Photo:
    """One photo file. ``sha256`` is its identity; width and height are of the upright image.

    ``format`` is JPEG, PNG, HEIF, WEBP, TIFF or GIF. ``orientation`` is the Exif number found
    (1 to 8), or None. ``problem`` is empty when the pixels can be decoded.
    """

    sha256: str
    format: str
    width: int
    height: int
    orientation: int | None
    byte_size: int
    problem: str = ""
