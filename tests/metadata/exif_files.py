"""Photo files made for the tests, down to the single byte of an Exif field."""

from __future__ import annotations

import io
import struct

ASCII, SHORT, LONG, RATIONAL, UNDEFINED, BYTE, SRATIONAL = 2, 3, 4, 5, 7, 1, 10
_SIZES = {ASCII: 1, SHORT: 2, LONG: 4, RATIONAL: 8, UNDEFINED: 1, BYTE: 1, SRATIONAL: 8}

Field = tuple[int, int, bytes]  # tag, type, little-endian value bytes


def text(tag: int, value: str | bytes, *, end: bytes = b"\0") -> Field:
    return tag, ASCII, (value.encode() if isinstance(value, str) else value) + end


def rationals(tag: int, *pairs: tuple[int, int]) -> Field:
    return tag, RATIONAL, b"".join(struct.pack("<II", *pair) for pair in pairs)


def short(tag: int, value: int) -> Field:
    return tag, SHORT, struct.pack("<H", value)


def gps_place(lat=((53, 1), (54, 1), (3045, 100)), lon=((21, 1), (42, 1), (1000, 100))):
    return [text(1, "N"), rationals(2, *lat), text(3, "E"), rationals(4, *lon)]


def block(
    first: list[Field] | None = None,
    exif: list[Field] | None = None,
    gps: list[Field] | None = None,
) -> bytes:
    """A little-endian TIFF block with the directories given (an empty list is an empty one)."""
    first = list(first or [])
    pointers = [(0x8769, exif), (0x8825, gps)]
    body = b"II*\0" + struct.pack("<I", 8)
    placed = [(tag, entries) for tag, entries in pointers if entries is not None]
    size = _size([*first, *[(tag, LONG, b"\0\0\0\0") for tag, _ in placed]])
    at = 8 + size
    tail = b""
    for tag, entries in placed:
        first.append((tag, LONG, struct.pack("<I", at)))
        written = _directory(entries, at)
        tail += written
        at += len(written)
    return body + _directory(first, 8) + tail


def _size(entries: list[Field]) -> int:
    return len(_directory(entries, 0))


def _directory(entries: list[Field], at: int) -> bytes:
    entries = sorted(entries)
    data_at = at + 2 + 12 * len(entries) + 4
    head, data = struct.pack("<H", len(entries)), b""
    for tag, kind, value in entries:
        count = len(value) // _SIZES[kind]
        if len(value) <= 4:
            head += struct.pack("<HHI", tag, kind, count) + value.ljust(4, b"\0")
        else:
            head += struct.pack("<HHII", tag, kind, count, data_at + len(data))
            data += value + b"\0" * (len(value) % 2)
    return head + struct.pack("<I", 0) + data


def jpeg(exif_block: bytes, *, extra: bytes = b"") -> bytes:
    """A small JPEG with the block in APP1, after ``extra`` segments."""
    from PIL import Image

    held = io.BytesIO()
    Image.new("RGB", (16, 8), (90, 120, 60)).save(held, "JPEG")
    plain = held.getvalue()
    body = b"Exif\0\0" + exif_block
    app1 = b"\xff\xe1" + struct.pack(">H", len(body) + 2) + body
    return plain[:2] + extra + app1 + plain[2:]
