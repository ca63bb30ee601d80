"""Decode a HEIF picture tile by tile, as phones store large ones: a grid of small pictures.

A grid is an item that names its tiles in order (ISO/IEC 23008-12:2022, 6.6.2.3). The library
decodes whole pictures only; a copy of the file in which a tile is the primary item and not hidden
(ISO/IEC 14496-12, ``pitm`` and ``infe``) gives that tile alone, in a few milliseconds.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from triage.analysis.media_types import PIECES

Pixels = npt.NDArray[np.uint8]

TILE_BYTES = 32_000_000  # that decoding one tile at a time takes, of at most four megapixels
_MOST_TILES = 4096
_MOST_TILE_PIXELS = 4_000_000  # phones have tiles of 512 by 512


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """Where a file names its tiles, and how the whole picture is turned after they are joined.

    ``size`` and ``tile`` are (width, height) as stored, before ``turns``: each the name of a
    property, ``irot`` (quarters against the clock) or ``imir`` (1: left and right change), and its
    value, to be applied in order.
    """

    size: tuple[int, int]
    tile: tuple[int, int]
    tiles: tuple[int, ...]  # items, row by row
    primary: tuple[int, int]  # where the file names its primary item: first byte and the one after
    flags: dict[int, int]  # item -> where its flags lie
    turns: tuple[tuple[str, int], ...]


def grid_of(content: bytes) -> Grid | None:
    """The grid of a file that the library opens; None if it has none that is understood here."""
    import pillow_heif

    heif = pillow_heif.open_heif(content)
    tiling = heif.info.get("tiling")
    if not tiling or heif.mode != "RGB":
        return None
    try:
        return _grid_in(content, tiling)
    except (IndexError, KeyError, ValueError):  # cut short, or of another form
        return None


def grid_pixels(content: bytes, grid: Grid, reduced: int) -> Pixels:
    """The picture, turned, at its size divided by ``reduced``, of which each tile is a multiple."""
    import cv2
    import pillow_heif

    wide, high = (side // reduced for side in grid.size)
    across, down = (side // reduced for side in grid.tile)
    columns = -(-grid.size[0] // grid.tile[0])
    out = np.empty((high, wide, 3), dtype=np.uint8)
    for number, item in enumerate(grid.tiles):
        row, column = divmod(number, columns)
        heif = pillow_heif.open_heif(_with_primary(content, grid, item))
        if heif.size != grid.tile or heif.mode != "RGB":
            raise ValueError("a tile is not what its grid says")
        tile = np.asarray(heif)
        if reduced > 1:
            tile = cv2.resize(tile, (across, down), interpolation=cv2.INTER_AREA)
        place = out[row * down : (row + 1) * down, column * across : (column + 1) * across]
        place[...] = tile[: place.shape[0], : place.shape[1]]
    for name, value in grid.turns:
        out = np.rot90(out, value) if name == "irot" else np.flip(out, axis=value)
    return out


def _with_primary(content: bytes, grid: Grid, item: int) -> bytes:
    """The file with this item as the primary one, and shown."""
    start, stop = grid.primary
    changed = bytearray(content)
    changed[start:stop] = item.to_bytes(stop - start, "big")
    changed[grid.flags[item]] &= 0xFE
    return bytes(changed)


def _grid_in(content: bytes, tiling: dict[str, int]) -> Grid | None:
    meta = _only(content, b"meta", 0, len(content))
    parts = {kind: span for kind, *span in _boxes(content, meta[0] + 4, meta[1])}
    primary = _primary(content, *parts[b"pitm"])
    item = int.from_bytes(content[slice(*primary)], "big")
    tiles = _tiles(content, item, *parts[b"iref"])
    turns = _turns(content, item, *parts[b"iprp"])
    if turns is None or not 1 < len(tiles) <= _MOST_TILES:
        return None
    sides = ("image_width", "image_height"), ("tile_width", "tile_height")
    size, tile = ((int(tiling[one]), int(tiling[other])) for one, other in sides)
    count = int(tiling["num_columns"]) * int(tiling["num_rows"])
    if sum(value for name, value in turns if name == "irot") % 2:  # it is told as it is turned
        size, tile = size[::-1], tile[::-1]
    if tile[0] * tile[1] > _MOST_TILE_PIXELS or tile[0] % 8 or tile[1] % 8 or count != len(tiles):
        return None
    flags = _flags(content, *parts[b"iinf"])
    shown = {one: flags[one] for one in tiles}
    return Grid(size=size, tile=tile, tiles=tiles, primary=primary, flags=shown, turns=turns)


def _boxes(content: bytes, start: int, stop: int) -> Iterator[tuple[bytes, int, int]]:
    """Kind, first byte of the body and the byte after it (ISO/IEC 14496-12, 4.2)."""
    for _ in range(PIECES):
        if start + 8 > stop:
            return
        length, kind = int.from_bytes(content[start : start + 4], "big"), content[start + 4 :][:4]
        body = start + 8
        if length == 1:
            length, body = int.from_bytes(content[body : body + 8], "big"), body + 8
        end = stop if length == 0 else start + length
        if not body <= end <= stop:
            raise ValueError("a box is longer than what holds it")
        yield kind, body, end
        start = end


def _only(content: bytes, wanted: bytes, start: int, stop: int) -> tuple[int, int]:
    return next((body, end) for kind, body, end in _boxes(content, start, stop) if kind == wanted)


def _primary(content: bytes, body: int, end: int) -> tuple[int, int]:
    start = body + 4
    return start, start + (4 if content[body] else 2)


def _flags(content: bytes, body: int, end: int) -> dict[int, int]:
    """Where the flags of each item lie (``infe`` of version 2 or 3)."""
    found = {}
    for kind, start, _ in _boxes(content, body + (8 if content[body] else 6), end):
        if kind == b"infe" and content[start] in (2, 3):
            wide = 4 if content[start] == 3 else 2
            found[int.from_bytes(content[start + 4 : start + 4 + wide], "big")] = start + 3
    return found


def _tiles(content: bytes, item: int, body: int, end: int) -> tuple[int, ...]:
    """The items that this one is derived from, in order (``dimg``)."""
    wide = 4 if content[body] else 2
    for kind, start, stop in _boxes(content, body + 4, end):
        if kind == b"dimg" and int.from_bytes(content[start : start + wide], "big") == item:
            first = start + wide + 2
            return tuple(
                int.from_bytes(content[at : at + wide], "big") for at in range(first, stop, wide)
            )
    return ()


def _turns(content: bytes, item: int, body: int, end: int) -> tuple[tuple[str, int], ...] | None:
    """How an item is turned; None if it is cut to a part, too."""
    properties = list(_boxes(content, *_only(content, b"ipco", body, end)))
    found = []
    for number in _properties_of(content, item, *_only(content, b"ipma", body, end)):
        kind, start, _ = properties[number - 1]
        if kind == b"clap":
            return None
        if kind in (b"irot", b"imir"):
            found.append((kind.decode(), content[start] & (3 if kind == b"irot" else 1)))
    return tuple(found)


def _properties_of(content: bytes, item: int, body: int, end: int) -> list[int]:
    """Numbers of an item's properties, in order (``ipma``)."""
    wide, long = (4 if content[body] else 2), bool(content[body + 3] & 1)
    count, at = int.from_bytes(content[body + 4 : body + 8], "big"), body + 8
    for _ in range(min(count, PIECES)):
        owner = int.from_bytes(content[at : at + wide], "big")
        each, at = content[at + wide], at + wide + 1
        step = 2 if long else 1
        numbers = [
            int.from_bytes(content[start : start + step], "big") & (0x7FFF if long else 0x7F)
            for start in range(at, at + each * step, step)
        ]
        at += each * step
        if owner == item:
            return [number for number in numbers if number]
    return []
