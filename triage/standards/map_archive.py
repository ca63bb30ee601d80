"""Read a PMTiles archive (version 3): what it says of itself, and single tiles.

The archive is none of the survey's own data: each length in it is checked before it is believed.
"""

from __future__ import annotations

import json
import zlib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO, TypeVar

Found = TypeVar("Found")

HEADER_BYTES = 127
MOST_DIRECTORY = 8_000_000  # bytes, unpacked; a directory of the format has some hundred thousand
DEPTH = 4  # directories on the way to a tile: the format has a root and leaves
GZIP = zlib.MAX_WBITS | 16


@dataclass(frozen=True, slots=True, kw_only=True)
class About:
    """What an archive says of itself; ``pictures`` is false for a vector map."""

    least_zoom: int
    most_zoom: int
    pictures: bool
    attribution: str


def about(path: Path) -> About | None:
    """What an archive says of itself, or None where it cannot be read."""

    def read(file: BinaryIO) -> About:
        from pmtiles.tile import TileType

        header = _header(file)
        pictures = header["tile_type"] in (TileType.PNG, TileType.JPEG, TileType.WEBP)
        return About(
            least_zoom=header["min_zoom"],
            most_zoom=header["max_zoom"],
            pictures=pictures,
            attribution=_attribution(file, header),
        )

    return _read(path, read)


def tile(path: Path, zoom: int, column: int, row: int, *, most: int) -> bytes | None:
    """One tile of at most so many bytes, counted from the north-west; None where there is none."""

    def read(file: BinaryIO) -> bytes | None:
        from pmtiles.tile import Compression, deserialize_directory, find_tile, zxy_to_tileid

        header, wanted = _header(file), zxy_to_tileid(zoom, column, row)
        offset, length = header["root_offset"], header["root_length"]
        for _ in range(DEPTH):
            packed = _piece(file, offset, length, MOST_DIRECTORY)
            _unpacked(packed)
            entry = find_tile(deserialize_directory(packed), wanted)
            if entry is None:
                return None
            if entry.run_length:
                kept = _piece(file, header["tile_data_offset"] + entry.offset, entry.length, most)
                return kept if header["tile_compression"] is Compression.NONE else None
            offset, length = header["leaf_directory_offset"] + entry.offset, entry.length
        return None

    return _read(path, read)


def _read(path: Path, how: Callable[[BinaryIO], Found]) -> Found | None:
    from pmtiles.tile import MagicNumberNotFound, SpecVersionUnsupported

    try:
        with path.open("rb") as file:
            return how(file)
    except (
        OSError,
        EOFError,
        ValueError,
        IndexError,
        OverflowError,
        zlib.error,
        MagicNumberNotFound,
        SpecVersionUnsupported,
    ):
        return None


def _header(file: BinaryIO) -> dict[str, Any]:
    from pmtiles.tile import deserialize_header

    found: dict[str, Any] = dict(deserialize_header(_piece(file, 0, HEADER_BYTES, HEADER_BYTES)))
    return found


def _attribution(file: BinaryIO, header: dict[str, Any]) -> str:
    packed = _piece(file, header["metadata_offset"], header["metadata_length"], MOST_DIRECTORY)
    said = json.loads(_unpacked(packed) if packed[:2] == b"\x1f\x8b" else packed)
    return str(said.get("attribution", "")) if isinstance(said, dict) else ""


def _piece(file: BinaryIO, offset: int, length: int, most: int) -> bytes:
    """Bytes of the file, all that were asked for.

    Raises
    ------
    ValueError
        If they are more than ``most``, or the file has fewer.
    """
    if length > most:
        raise ValueError("longer than such a piece may be")
    file.seek(offset)
    piece = file.read(length)
    if len(piece) < length:
        raise ValueError("the file ends too early")
    return piece


def _unpacked(packed: bytes) -> bytes:
    """The content of a gzip stream.

    Raises
    ------
    ValueError
        If it is longer than a directory may be.
    """
    unpacked = zlib.decompressobj(GZIP).decompress(packed, MOST_DIRECTORY + 1)
    if len(unpacked) > MOST_DIRECTORY:
        raise ValueError("longer than a directory may be")
    return unpacked
