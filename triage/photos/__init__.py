"""Tell what a photo file is: digest, format, upright size."""

from __future__ import annotations

from dataclasses import dataclass

from triage.analysis import images
from triage.errors import SourceError
from triage.standards.digests import digest_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Photo:
    """One photo file. ``sha256`` is its identity; width and height are of the upright image.

    ``format`` is JPEG, PNG, HEIF, AVIF, WEBP, TIFF or GIF. ``orientation`` is the Exif number found
    (1 to 8), or None. ``problem`` is empty when the pixels can be decoded.
    """

    sha256: str
    format: str
    width: int
    height: int
    orientation: int | None
    byte_size: int
    problem: str = ""


def identify(content: bytes, *, name: str = "photo") -> Photo:
    """Say what the file is from its bytes and header, without decoding the pixels.

    Parameters
    ----------
    content : bytes
        The whole file.
    name : str
        What a problem calls the file.

    Returns
    -------
    Photo
        With ``problem`` set, and width and height 0, when the header cannot be read. A header
        that reads well does not prove that the pixels do.
    """
    try:
        header = images.read_header(content, name=name)
    except SourceError as error:
        return unreadable(content, error)
    return from_header(content, header)


def from_header(content: bytes, header: images.Header) -> Photo:
    """The photo whose header was read already, so that the file is opened once."""
    return Photo(
        sha256=digest_of(content),
        format=header.format,
        width=header.width,
        height=header.height,
        orientation=header.orientation,
        byte_size=len(content),
    )


def unreadable(content: bytes, error: SourceError) -> Photo:
    """The photo that cannot be decoded, with the reason and the next step as its problem."""
    return Photo(
        sha256=digest_of(content),
        format=images.kind_of(content) or "",
        width=0,
        height=0,
        orientation=None,
        byte_size=len(content),
        problem=f"{error.what}. {error.next_step}",
    )
