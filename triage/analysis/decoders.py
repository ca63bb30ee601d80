"""Decode a picture to its pixels as stored (8-bit RGB), perhaps reduced.

One decoder for each format, chosen for the memory it takes: libjpeg-turbo for JPEG, OpenCV for
WebP, libheif for HEIF, Pillow for the others and for what the first cannot do.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator
from typing import Any

import numpy as np
import numpy.typing as npt

from triage.analysis.picture_headers import Header, damaged, is_animated_webp, opened, pillow_bytes

Pixels = npt.NDArray[np.uint8]

MISSING_TOLERATED = 0.02  # share of rows that a JPEG cut short may lack and still be examined
ALL_AT_ONCE = ("HEIF", "WEBP")  # decoders that give the whole picture, to be reduced afterwards
LARGE_PX = 2048  # long side from which colours are only looked at in a copy of half the size, so
# that the chroma of a JPEG need not be smoothed between its samples; luma is the same either way
REUSED_BYTES = 40_000_000  # pixels that may lie in memory which is used again: 13 megapixels
STRIP_ROWS = 64  # converted at a time; a multiple of every reduction
_HELD = threading.local()
_RED_FIRST, _BLUE_FIRST = slice(0, 3), slice(2, None, -1)


def stored_pixels(
    content: bytes, header: Header, reduced: int, name: str, memory: int, *, reuse: bool = False
) -> Pixels:
    """Pixels as stored, not yet upright; whatever the decoder raises is passed on.

    With ``reuse`` those of a JPEG may lie where this thread's next such pixels will.
    """
    if header.format == "HEIF":
        return _heif_pixels(content, reduced)
    if header.format == "WEBP" and not is_animated_webp(content):
        return _webp_pixels(content, reduced)
    if header.format == "JPEG":
        pixels = _fast_jpeg(content, reduced, name, reuse=reuse)
        if pixels is not None:
            return pixels
    with opened(content, header.format, name) as image:
        held = image.width * image.height * pillow_bytes(image.mode)
        if header.format == "JPEG" and len(content) + held > memory:
            raise damaged(name, "its pixels cannot be decoded")
        image.seek(0)
        image.load()
        return _joined(_strips_of(image), image.size, reduced)


def area_mean(pixels: Pixels, size: tuple[int, int]) -> Pixels:
    """Reduce to (width, height), each pixel the mean of those it covers."""
    import cv2

    return np.asarray(cv2.resize(pixels, size, interpolation=cv2.INTER_AREA), dtype=np.uint8)


def _joined(strips: Iterator[Pixels], size: tuple[int, int], reduced: int) -> Pixels:
    """Reduce strips of rows one by one and lay them under each other."""
    width, height = max(1, size[0] // reduced), max(1, size[1] // reduced)
    out = np.empty((height, width, 3), dtype=np.uint8)
    row = 0
    for strip in strips:
        rows = min(max(1, strip.shape[0] // reduced), height - row)
        if rows < 1:
            break
        if reduced > 1:
            strip = area_mean(strip[: rows * reduced, : width * reduced], (width, rows))
        out[row : row + rows] = strip[:rows]
        row += rows
    return out


def _strips_of(image: Any) -> Iterator[Pixels]:
    """A decoded Pillow image as RGB, a strip of rows at a time."""
    top = _white_point(image) if image.mode in ("I", "F") else 0.0
    for row in range(0, image.height, STRIP_ROWS):
        strip = image.crop((0, row, image.width, min(row + STRIP_ROWS, image.height)))
        strip.info = image.info
        yield _as_rgb(strip, top)


def _white_point(image: Any) -> float:
    """The value of 32-bit pixels that is shown as white."""
    low, high = 0.0, 0.0
    for row in range(0, image.height, STRIP_ROWS):
        strip = image.crop((0, row, image.width, min(row + STRIP_ROWS, image.height)))
        values = np.nan_to_num(np.asarray(strip, dtype=np.float64))
        low, high = min(low, float(values.min())), max(high, float(values.max()))
    return 65535.0 if image.mode == "I" and low >= 0 and high > 255 else max(high, 255.0)


def _as_rgb(image: Any, top: float) -> Pixels:
    from PIL import Image

    if image.mode.startswith("I;16"):
        deep = np.asarray(image)
        return np.repeat((deep >> 8).astype(np.uint8)[..., None], 3, axis=2)
    if image.mode in ("I", "F"):
        values = np.nan_to_num(np.asarray(image, dtype=np.float64))
        grey = np.clip(values / top * 255, 0, 255).astype(np.uint8)
        return np.repeat(grey[..., None], 3, axis=2)
    if image.mode in ("RGBA", "LA", "PA", "RGBa", "La") or "transparency" in image.info:
        whole = image.convert("RGBA")
        paper = Image.new("RGBA", whole.size, (255, 255, 255, 255))
        image = Image.alpha_composite(paper, whole)
    return np.asarray(image.convert("RGB"))


def give_up_reused() -> None:
    """Free the memory that this thread would use again."""
    _HELD.pixels = None


def _reused(size: int) -> Pixels | None:
    """Memory for so many bytes, the same each time: fresh one costs a tenth of decoding."""
    if size > REUSED_BYTES:
        give_up_reused()
        return None
    held: Pixels | None = getattr(_HELD, "pixels", None)
    if held is None or held.size < size:
        held = _HELD.pixels = np.empty(size, dtype=np.uint8)
    return held


def _fast_jpeg(content: bytes, reduced: int, name: str, *, reuse: bool) -> Pixels | None:
    """Decode by libjpeg-turbo directly; None when Pillow has to try."""
    import simplejpeg

    try:
        height, width, colours, _ = simplejpeg.decode_jpeg_header(content, strict=False)
    except Exception:
        return None
    if colours == "CMYK":
        return None
    how: dict[str, Any] = {"fastupsample": max(height, width) // reduced >= LARGE_PX}
    if reuse and reduced == 1:
        how["buffer"] = _reused(3 * height * width)
    if reduced > 1:
        how |= {"min_height": height // reduced, "min_width": width // reduced}
    try:
        pixels: Pixels = simplejpeg.decode_jpeg(content, "RGB", strict=True, **how)
        return pixels
    except Exception:  # a recoverable fault, or one that is none: look closer below
        pass
    try:
        pixels = simplejpeg.decode_jpeg(content, "RGB", strict=False, **how)
    except Exception:
        return None
    missing = _grey_rows_below(pixels) / pixels.shape[0]
    if missing > MISSING_TOLERATED:
        raise damaged(name, f"the lower {missing:.0%} of it is missing")
    return pixels


def _grey_rows_below(pixels: Pixels) -> int:
    """Rows at the lower edge that the decoder filled with one grey because no data came."""
    last = pixels[-1, 0]
    for stop in range(pixels.shape[0], 0, -STRIP_ROWS):
        start = max(0, stop - STRIP_ROWS)
        even = (pixels[start:stop] == last).all(axis=(1, 2))
        if not even.all():
            return int(pixels.shape[0]) - stop + int(np.argmin(even[::-1]))
    return int(pixels.shape[0])


def _webp_pixels(content: bytes, reduced: int) -> Pixels:
    """By OpenCV, which takes a third of the memory that Pillow does."""
    import cv2

    flags = cv2.IMREAD_UNCHANGED | cv2.IMREAD_IGNORE_ORIENTATION
    stored = cv2.imdecode(np.frombuffer(content, dtype=np.uint8), flags)
    if stored is None:
        raise ValueError("no pixels")
    if stored.ndim == 3 and stored.shape[2] == 3 and reduced == 1:
        for row in range(0, stored.shape[0], STRIP_ROWS):  # in place: no second picture is held
            strip = stored[row : row + STRIP_ROWS]
            strip[...] = strip[..., _BLUE_FIRST].copy()
        return np.asarray(stored, dtype=np.uint8)
    return _joined(_laid_on_white(stored, _BLUE_FIRST), stored.shape[1::-1], reduced)


def _laid_on_white(stored: Any, colours: slice) -> Iterator[Pixels]:
    """Grey or three colours and perhaps opacity in, strips of RGB on white out."""
    for row in range(0, stored.shape[0], STRIP_ROWS):
        strip = stored[row : row + STRIP_ROWS]
        rgb = strip[..., colours] if strip.ndim == 3 else np.repeat(strip[..., None], 3, axis=2)
        if strip.ndim == 3 and strip.shape[2] == 4:
            opacity = strip[..., 3:].astype(np.uint16)
            rgb = ((rgb * opacity + 255 * (255 - opacity) + 127) // 255).astype(np.uint8)
        yield np.ascontiguousarray(rgb)


def _heif_pixels(content: bytes, reduced: int) -> Pixels:
    import pillow_heif

    heif = pillow_heif.open_heif(content, convert_hdr_to_8bit=True)
    stored = np.asarray(heif)
    if heif.mode == "RGB" and reduced == 1:
        return np.ascontiguousarray(stored)
    return _joined(_laid_on_white(stored, _RED_FIRST), stored.shape[1::-1], reduced)
