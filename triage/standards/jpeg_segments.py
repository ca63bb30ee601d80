"""Takes a JPEG file apart into its segments, and puts its pixels together with new metadata.

The compressed pixels are never touched. Everything that is not needed to show them is left out:
old Exif, XMP, IPTC, comments, maker notes, thumbnails, and whatever follows the end of the image.

References
----------
ISO/IEC 10918-1:1994 (ITU-T T.81), annex B: markers and segments.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from triage.errors import SourceError

START, END, SCAN = 0xD8, 0xD9, 0xDA
APP0, APP1, APP2, APP13, APP14, COMMENT = 0xE0, 0xE1, 0xE2, 0xED, 0xEE, 0xFE
MOST_PAYLOAD = 65_533  # bytes: the two of the length count too

_EXIF = b"Exif\x00\x00"
_XMP = b"http://ns.adobe.com/xap/1.0/\x00"
_IPTC = b"Photoshop 3.0\x00"
_ICC = b"ICC_PROFILE\x00"


@dataclass(frozen=True, slots=True, kw_only=True)
class Segment:
    """A marker with its payload; for a scan, the compressed data that follow it too."""

    marker: int
    payload: bytes
    scan: bytes = b""


def segments(content: bytes, *, name: str = "photo") -> Iterator[Segment]:
    """The segments of the first image of a JPEG file, from behind its start to before its end.

    Raises
    ------
    SourceError
        If the file is no JPEG, or is cut off before its image ends.
    """
    if content[:2] != bytes((0xFF, START)):
        raise _broken(name, "it is not a JPEG file")
    position = 2
    while True:
        position = _next_marker(content, position, name)
        marker = content[position - 1]
        if marker == END:
            return
        length = int.from_bytes(content[position : position + 2], "big")
        payload = content[position + 2 : position + length]
        if length < 2 or len(payload) != length - 2:
            raise _broken(name, "it ends in the middle of a segment")
        position += length
        scan = b""
        if marker == SCAN:
            stop = _end_of_scan(content, position, name)
            scan, position = content[position:stop], stop
        yield Segment(marker=marker, payload=payload, scan=scan)


def with_metadata(
    content: bytes, *, exif: bytes = b"", xmp: bytes = b"", iptc: bytes = b"", name: str = "photo"
) -> bytes:
    """The same pixels of a JPEG file, byte for byte, with this metadata and no other.

    ``exif`` is a TIFF structure without the ``Exif`` header, ``xmp`` an XMP packet, and ``iptc``
    Photoshop image resources that hold the IPTC-IIM datasets.

    Raises
    ------
    SourceError
        If the file cannot be taken apart, or a block of metadata is larger than a segment holds.
    """
    made = bytearray((0xFF, START))
    kept = list(segments(content, name=name))
    for one in kept:
        if one.marker == APP0 and one.payload.startswith(b"JFIF\x00"):
            # The JFIF header may carry a thumbnail: its size is set to nothing.
            made += _written(APP0, one.payload[:12] + b"\x00\x00", name)
            break
    for header, body in ((_EXIF, exif), (_XMP, xmp)):
        if body:
            made += _written(APP1, header + body, name)
    if iptc:
        made += _written(APP13, _IPTC + iptc, name)
    for one in kept:
        if _is_needed(one):
            made += _written(one.marker, one.payload, name) + one.scan
    return bytes(made + bytes((0xFF, END)))


def _is_needed(one: Segment) -> bool:
    if one.marker == COMMENT:
        return False
    if APP0 <= one.marker <= 0xEF:
        colour = one.marker == APP2 and one.payload.startswith(_ICC)
        return colour or (one.marker == APP14 and one.payload.startswith(b"Adobe"))
    return True


def _written(marker: int, payload: bytes, name: str) -> bytes:
    if len(payload) > MOST_PAYLOAD:
        raise _broken(name, "its description is too long for a JPEG segment")
    return bytes((0xFF, marker)) + (len(payload) + 2).to_bytes(2, "big") + payload


def _next_marker(content: bytes, position: int, name: str) -> int:
    """The position behind the next marker; fill bytes before it are passed over."""
    if content[position : position + 1] != b"\xff":
        raise _broken(name, "a segment is followed by something else")
    while content[position : position + 1] == b"\xff":
        position += 1
    if position >= len(content):
        raise _broken(name, "it is cut off")
    return position + 1


def _end_of_scan(content: bytes, position: int, name: str) -> int:
    """Where compressed data end: at a marker that is neither a stuffed byte nor a restart."""
    while True:
        position = content.find(b"\xff", position)
        if position < 0 or position + 1 >= len(content):
            raise _broken(name, "it is cut off")
        following = content[position + 1]
        if following == 0xFF:
            position += 1
        elif following == 0 or 0xD0 <= following <= 0xD7:
            position += 2
        else:
            return position


def _broken(name: str, why: str) -> SourceError:
    return SourceError(
        f"the file cannot be given new metadata: {why}",
        failing=name,
        next_step="The photo is passed on as a new JPEG made from its pixels instead.",
    )
