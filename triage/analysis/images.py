"""Decode a picture file to upright pixels (8-bit RGB), within limits of memory.

Formats: JPEG (ITU-T T.81), PNG (ISO/IEC 15948), HEIF (ISO/IEC 23008-12), AVIF (AV1 Image File
Format 1.1), WebP (RFC 9649), TIFF 6.0, GIF89a. Orientation: Exif 2.32 (CIPA DC-008), tag 274; HEIF
keeps its own in the ``irot`` and ``imir`` properties, which the decoder applies, so that the Exif
number says nothing more there.

The memory that a file would take is computed from its header before it is decoded. Where it is more
than a photo may take, the picture comes out at half, a quarter or an eighth of its size (a large
HEIF tile by tile, as phones store it); where that does not help, it is refused.
"""

from __future__ import annotations

import contextlib
import warnings
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from triage.analysis.decoders import (
    ALL_AT_ONCE,
    STRIP_ROWS,
    Pixels,
    area_mean,
    give_up_reused,
    stored_pixels,
)
from triage.analysis.heif_grids import TILE_BYTES, grid_of, grid_pixels
from triage.analysis.memory import give_back
from triage.analysis.picture_headers import (
    MAX_BYTES,
    MAX_PIXELS,
    ORIENTATION,
    PHOTO_SUFFIXES,
    RGB_BYTES,
    Format,
    Header,
    damaged,
    kind_of,
    read_header,
    too_large,
)
from triage.errors import SourceError

__all__ = [
    "MAX_BYTES",
    "MAX_PIXELS",
    "ORIENTATION",
    "PHOTO_SUFFIXES",
    "Decoded",
    "Format",
    "Header",
    "Pixels",
    "as_jpeg",
    "decode",
    "grey_of",
    "halved",
    "kind_of",
    "read_header",
    "resized",
    "shrink",
    "upright",
]

DECODE_BYTES = 152_000_000  # file, decoder and pixels; with a worker's models under 400 MB
ORDINARY_BYTES = 60_000_000  # a 12-megapixel photo takes 45; for more, free memory is given back
FULL_PIXELS = 24_500_000  # more than this is examined at half its size: 24-megapixel cameras pass
REDUCTIONS = (1, 2, 4, 8)  # those that JPEG decoders offer


@dataclass(frozen=True, slots=True, kw_only=True)
class Decoded:
    """The header and the upright pixels, (height, width, 3) uint8 RGB, C-contiguous.

    The pixels are of the header's size divided by ``reduced`` (1, 2, 4 or 8), rounded either way.
    """

    header: Header
    rgb: Pixels = field(repr=False)
    reduced: int = 1


def decode(
    content: bytes, *, name: str = "photo", memory: int = DECODE_BYTES, reuse: bool = False
) -> Decoded:
    """Decode once, upright, to 8-bit RGB; the first frame of an animation.

    Transparent pixels are laid on white, 16-bit values keep their upper 8 bits, CMYK and
    palettes are converted. A JPEG whose tail is missing is decoded if it lacks at most
    2 % of its rows.

    Parameters
    ----------
    content : bytes
        The whole file.
    name : str
        What an error calls the file.
    memory : int
        Bytes that file, decoder and pixels may take together. A picture that needs more, or has
        more than 24.5 megapixels, comes out reduced.
    reuse : bool
        Whether the pixels may lie where those of this thread's next such call will: for one photo
        after the other, a tenth faster.

    Returns
    -------
    Decoded
        Header, pixels, and by how much they are reduced.

    Raises
    ------
    SourceError
        If the bytes are no picture of these formats, are damaged or cut short, or exceed the
        limits of bytes, pixels, sides, scans or memory.

    Notes
    -----
    A 12-megapixel baseline JPEG takes about 45 ms on one core, half of what Pillow needs.
    """
    header = read_header(content, name=name)
    large = header.width * header.height > FULL_PIXELS
    grid = grid_of(content) if header.format == "HEIF" and large else None
    reduced = _reduction(header, len(content), memory, name, in_tiles=grid is not None)
    if _needed(header, len(content), reduced, in_tiles=grid is not None) > ORDINARY_BYTES:
        give_up_reused()
        give_back()
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # a decoder's warnings on damaged files help nobody
            if grid is not None and reduced > 1:
                pixels = grid_pixels(content, grid, reduced)
            else:
                pixels = stored_pixels(content, header, reduced, name, memory, reuse=reuse)
    except SourceError:
        raise
    except MemoryError as error:
        raise too_large(name, "needs more memory than there is") from error
    except Exception as error:  # decoders of hostile bytes raise anything
        raise damaged(name, "its pixels cannot be decoded") from error
    rgb = _turned_in_parts(pixels, header.turn)
    sides = zip((header.height, header.width), rgb.shape, strict=False)
    if not all(max(1, side // reduced) <= got <= -(-side // reduced) for side, got in sides):
        raise damaged(name, "its pixels do not have the size that its header states")
    return Decoded(header=header, rgb=rgb, reduced=reduced)


def _reduction(
    header: Header, file_bytes: int, memory: int, name: str, *, in_tiles: bool = False
) -> int:
    """The smallest reduction with which the picture fits into memory."""
    pixels = header.width * header.height
    for reduced in REDUCTIONS:
        needed = _needed(header, file_bytes, reduced, in_tiles=in_tiles)
        if needed <= memory and pixels // reduced**2 <= FULL_PIXELS:
            return reduced
    raise too_large(
        name,
        f"needs {needed // 1_000_000} MB of memory to be decoded, more than the"
        f" {memory // 1_000_000} MB that one picture may take",
    )


def _needed(header: Header, file_bytes: int, reduced: int, *, in_tiles: bool) -> int:
    """Bytes of file, decoder and pixels together."""
    pixels = header.width * header.height
    out = RGB_BYTES * pixels // reduced**2
    if in_tiles and reduced > 1:  # a copy of the file for each tile, and one of the pixels, turned
        return 4 * file_bytes + TILE_BYTES + 2 * out
    out += RGB_BYTES * pixels if reduced > 1 and header.format in ALL_AT_ONCE else 0
    return file_bytes + header.decoder_bytes + out


def _turned_in_parts(pixels: Pixels, turn: int) -> Pixels:
    """Turn pixels that nobody else needs, giving them back as they are done: 24 megapixels and
    their turned copy would not fit into memory together."""
    if turn == 1:
        return np.ascontiguousarray(pixels)
    height, width = pixels.shape[:2]
    out = np.empty((width, height, 3) if turn >= 5 else pixels.shape, dtype=np.uint8)
    for stop in range(height, 0, -STRIP_ROWS):
        start = max(0, stop - STRIP_ROWS)
        span = slice(height - stop, height - start) if turn in (3, 4, 6, 7) else slice(start, stop)
        out[(slice(None), span) if turn >= 5 else span] = upright(pixels[start:stop], turn)
        with contextlib.suppress(ValueError):  # the array may be another library's
            pixels.resize((start, width, 3), refcheck=False)
    return out


def upright(pixels: Pixels, orientation: int | None) -> Pixels:
    """Apply an Exif orientation (1 to 8) to pixels as stored; anything else leaves them alone.

    Parameters
    ----------
    pixels : ndarray of uint8, shape (height, width) or (height, width, channels)
    orientation : int or None
        Exif tag 274: the place of the stored first row and first column.

    Returns
    -------
    ndarray of uint8
        C-contiguous; the input itself when there is nothing to turn.

    References
    ----------
    CIPA DC-008-2019 (Exif 2.32), 4.6.4 A, Orientation.

    Examples
    --------
    >>> upright(np.array([[1, 2, 3]], dtype=np.uint8), 6).tolist()
    [[1], [2], [3]]
    """
    import cv2

    if orientation is None or orientation not in range(2, 9):
        return np.ascontiguousarray(pixels)
    turned: Any = pixels
    if orientation in (2, 4, 5, 7):
        turned = cv2.flip(turned, 0 if orientation == 4 else 1)
    turns = {3: cv2.ROTATE_180, 6: cv2.ROTATE_90_CLOCKWISE, 8: cv2.ROTATE_90_COUNTERCLOCKWISE}
    turns |= {5: cv2.ROTATE_90_COUNTERCLOCKWISE, 7: cv2.ROTATE_90_CLOCKWISE}
    if orientation in turns:
        turned = cv2.rotate(turned, turns[orientation])
    return np.ascontiguousarray(turned)


def halved(pixels: Pixels, at_least: int) -> Pixels:
    """Halve as often as the longer side stays at or above ``at_least``; the mean of 2 by 2 pixels.

    Eight times cheaper than an area mean to any other size: 4 ms at 12 megapixels.

    Raises
    ------
    ValueError
        If ``at_least`` is below 1.
    """
    if at_least < 1:
        raise ValueError(f"a side must be at least 1 pixel, got {at_least}")
    while max(pixels.shape[:2]) >= 2 * at_least and min(pixels.shape[:2]) >= 2:
        height, width = pixels.shape[0] // 2, pixels.shape[1] // 2
        pixels = area_mean(pixels[: 2 * height, : 2 * width], (width, height))
    return pixels


def shrink(pixels: Pixels, long_side: int, *, exact: bool = False) -> Pixels:
    """Reduce to at most ``long_side`` pixels on the longer side; smaller pictures stay as they are.

    ``exact`` takes the mean of the area of each pixel: slower, for measuring how sharp it is.

    Raises
    ------
    ValueError
        If ``long_side`` is below 1.
    """
    height, width = pixels.shape[:2]
    scale = long_side / max(height, width)
    size = (max(1, round(width * scale)), max(1, round(height * scale)))
    pixels = halved(pixels, long_side)
    if scale >= 1 or pixels.shape[1::-1] == size:
        return pixels
    return area_mean(pixels, size) if exact else resized(pixels, size)


def resized(pixels: Pixels, size: tuple[int, int]) -> Pixels:
    """Bring to (width, height), also to other proportions.

    A larger picture is halved while that leaves enough, drawn between neighbours at twice the
    size, and halved once more: a third of the time of an area mean, and as smooth.
    """
    import cv2

    linear = cv2.INTER_LINEAR
    pixels = halved(pixels, max(size))
    if pixels.shape[1::-1] == size:
        return pixels
    if max(pixels.shape[:2]) <= max(size):
        return np.asarray(cv2.resize(pixels, size, interpolation=linear), dtype=np.uint8)
    twice = (2 * size[0], 2 * size[1])
    return area_mean(np.asarray(cv2.resize(pixels, twice, interpolation=linear)), size)


def grey_of(rgb: Pixels) -> Pixels:
    """Luma of RGB pixels by ITU-R BT.601, uint8, the same height and width."""
    import cv2

    return np.asarray(cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY), dtype=np.uint8)


def as_jpeg(rgb: Pixels, *, quality: int = 80) -> bytes:
    """Encode pixels as a baseline JPEG without any metadata.

    Raises
    ------
    ValueError
        If the array is not (height, width, 3) uint8.
    """
    import simplejpeg

    if rgb.ndim != 3 or rgb.shape[2] != 3 or rgb.dtype != np.uint8:
        raise ValueError(f"pixels must be (height, width, 3) uint8, got {rgb.shape} {rgb.dtype}")
    return bytes(simplejpeg.encode_jpeg(np.ascontiguousarray(rgb), quality, "RGB", "420"))
