"""Read a picture's format, upright size and the memory its pixels cost, without decoding.

Nothing here decodes a pixel or runs a native decoder, but for HEIF and AVIF, whose boxes libheif
and libavif read. JPEG: ITU-T T.81 annex B; WebP: RFC 9649; AVIF, PNG, GIF and TIFF through Pillow's
readers of headers.
"""

from __future__ import annotations

import io
import re
import warnings
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from triage.analysis.media_types import PIECES, riff_chunks, sniff_media_type
from triage.errors import SourceError

Format = Literal["JPEG", "PNG", "HEIF", "AVIF", "WEBP", "TIFF", "GIF"]

MAX_BYTES = 100 * 2**20  # a file larger than this is no mailed photo; common practice, no source
MAX_PIXELS = 89_478_485  # a quarter of a GiB as RGB, Pillow's own limit: 60-megapixel cameras pass
MAX_SIDE = 65_500  # the longest side that JPEG can state
MAX_JPEG_SCANS = 200  # a progressive photo has about ten; thousands are an attack on the processor
MAX_SCANNED_PIXELS = 1_000_000_000  # scans times pixels: about three seconds of one core
ORIENTATION = 0x0112  # Exif tag 274
RGB_BYTES = 3

PHOTO_SUFFIXES = frozenset(
    {".jpg", ".jpeg", ".jpe", ".jfif", ".png", ".heic", ".heif", ".hif", ".avif", ".webp"}
    | {".tif", ".tiff", ".gif"}
)
_FORMATS: dict[str, Format] = {
    "image/jpeg": "JPEG",
    "image/png": "PNG",
    "image/gif": "GIF",
    "image/webp": "WEBP",
    "image/tiff": "TIFF",
    "image/heif": "HEIF",
    "image/avif": "AVIF",
}
# Bytes that Pillow holds for one pixel, by mode; all others take four.
_PILLOW_BYTES = {"1": 1, "L": 1, "P": 1, "I;16": 2, "I;16B": 2, "I;16L": 2, "I;16N": 2}
_TAGS_OF_TILES, _TAG_OF_ROWS, _TAG_OF_BITS, _TAG_OF_SAMPLES = (322, 323), 278, 258, 277  # TIFF 6.0
# Not a stuffed byte, not a restart. Without a repeat at its front it is searched for by its byte.
_NEXT_MARKER = re.compile(rb"\xff([\x01-\xcf\xd8-\xfe])")
_BOXES = 65_536  # bytes at the start of an AVIF that hold its boxes


@dataclass(frozen=True, slots=True, kw_only=True)
class Header:
    """What a picture file says before its pixels are decoded.

    ``width`` and ``height`` are of the upright image; ``orientation`` is the Exif number as stored
    (1 to 8), None when absent or outside that range; ``turn`` is what is left to apply after the
    decoder has done its part (1 for HEIF and TIFF, whose decoders turn). ``decoder_bytes`` is the
    memory that decoding takes at its peak beside the file and the pixels that come out.
    """

    format: Format
    width: int
    height: int
    orientation: int | None
    turn: int
    decoder_bytes: int = 0


def kind_of(content: bytes) -> Format | None:
    """Name the format by the first bytes, whatever the file is called; None for anything else.

    Examples
    --------
    >>> kind_of(b"\\xff\\xd8\\xff\\xe0")
    'JPEG'
    >>> kind_of(b"%PDF-1.7") is None
    True
    """
    return _FORMATS.get(sniff_media_type(content))


def read_header(content: bytes, *, name: str = "photo") -> Header:
    """Read format, upright size and orientation without decoding the pixels.

    Parameters
    ----------
    content : bytes
        The whole file.
    name : str
        What an error calls the file.

    Raises
    ------
    SourceError
        If the bytes are no picture of these formats, are damaged, or exceed the limits.
    """
    kind = _checked_kind(content, name)
    readers = {"HEIF": _heif_header, "AVIF": _avif_header}
    readers |= {"WEBP": _webp_header, "JPEG": _jpeg_header}
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return readers.get(kind, _pillow_header)(content, kind, name)
    except SourceError:
        raise
    except Exception as error:  # readers of hostile bytes raise anything
        raise damaged(name, "its header cannot be read") from error


def damaged(name: str, what: str) -> SourceError:
    """The error of a picture that cannot be read."""
    return SourceError(
        f"cannot be read as a picture: {what}",
        failing=name,
        next_step="Ask the sender for the file again, as it came from the camera.",
    )


def too_large(name: str, what: str) -> SourceError:
    """The error of a picture that would take more memory or time than one photo may."""
    return SourceError(
        what,
        failing=name,
        next_step="Ask the sender for the picture as a JPEG of at most 20 megapixels.",
    )


def pillow_bytes(mode: str) -> int:
    """Bytes that Pillow holds for one pixel of a mode."""
    return _PILLOW_BYTES.get(mode, 4)


def _checked_kind(content: bytes, name: str) -> Format:
    kind = kind_of(content)
    if kind is None:
        raise SourceError(
            "is empty" if not content else "is no JPEG, PNG, HEIF, AVIF, WebP, TIFF or GIF picture",
            failing=name,
            next_step="Send the picture as JPEG, or leave the file out.",
        )
    if len(content) > MAX_BYTES:
        raise too_large(name, f"has {len(content):,} bytes, more than {MAX_BYTES:,}")
    return kind


def _check_size(width: int, height: int, name: str) -> None:
    if width < 1 or height < 1:
        raise damaged(name, "it states a size of nothing")
    if width * height > MAX_PIXELS or max(width, height) > MAX_SIDE:
        raise too_large(name, f"has {width} by {height} pixels, more than {MAX_PIXELS:,} in all")


def _made(
    kind: Format,
    size: tuple[int, int],
    name: str,
    *,
    orientation: int | None,
    turned: bool = False,
    decoder_bytes: float,
) -> Header:
    """The header of a picture stored in this size; ``turned`` says that its decoder turns it."""
    width, height = size
    _check_size(width, height, name)
    turn = 1 if turned else orientation or 1
    if turn >= 5:
        width, height = height, width
    return Header(
        format=kind,
        width=width,
        height=height,
        orientation=orientation,
        turn=turn,
        decoder_bytes=int(decoder_bytes),
    )


def _sound(value: object) -> int | None:
    return value if isinstance(value, int) and 1 <= value <= 8 else None


def _orientation_in(block: bytes) -> int | None:
    from PIL import Image

    exif = Image.Exif()
    try:
        exif.load(block)
        return _sound(exif.get(ORIENTATION))
    except Exception:  # damaged Exif must not cost the pixels
        return None


def _pillow_header(content: bytes, kind: Format, name: str) -> Header:
    """PNG, GIF and TIFF. Pillow's own ``getexif`` of a PNG would decode the whole picture."""
    with opened(content, kind, name) as image:
        orientation = _orientation_in(_png_exif(content)) if kind == "PNG" else None
        if orientation is None:
            orientation = _orientation_of(image)
        pixels = image.width * image.height
        held = pixels * pillow_bytes(image.mode)
        if kind == "TIFF":
            held += _tiff_buffers(image, len(content))
        return _made(
            kind,
            image.size,
            name,
            orientation=orientation,
            turned=kind == "TIFF",
            decoder_bytes=held,
        )


def opened(content: bytes, kind: Format, name: str) -> Any:
    """The picture as Pillow opens it, its pixels not yet decoded."""
    from PIL import Image

    formats = {"JPEG": ("JPEG", "MPO")}.get(kind, (kind,))
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            return Image.open(io.BytesIO(content), formats=formats)
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        raise too_large(name, f"has more than {MAX_PIXELS:,} pixels") from error


def _orientation_of(image: Any) -> int | None:
    from PIL import Image

    try:
        return _sound(Image.Image.getexif(image).get(ORIENTATION))
    except Exception:  # damaged Exif must not cost the pixels
        return None


def _png_exif(content: bytes) -> bytes:
    """The Exif chunk, which may also stand behind the pixels (PNG third edition, 11.3.2.5)."""
    position = 8
    for _ in range(PIECES):
        length = int.from_bytes(content[position : position + 4], "big")
        kind = content[position + 4 : position + 8]
        if kind == b"eXIf":
            return content[position + 8 : position + 8 + length]
        if kind in (b"IEND", b""):
            break
        position += 12 + length
    return b""


def _tiff_buffers(image: Any, file_bytes: int) -> int:
    """What libtiff takes besides Pillow: the file once more, and one strip or tile unpacked."""
    if image.info.get("compression") == "raw":
        return 0
    tags = image.tag_v2
    bits = tags.get(_TAG_OF_BITS) or (8,)
    samples = max(int(tags.get(_TAG_OF_SAMPLES) or 1), len(bits))
    pixel = max(1, samples * max(bits) // 8)
    sides = [tags.get(tag) for tag in _TAGS_OF_TILES]
    if all(isinstance(side, int) for side in sides):
        return file_bytes + int(sides[0] * sides[1] * max(pixel, 4))
    rows = tags.get(_TAG_OF_ROWS)
    rows = min(rows, image.height) if isinstance(rows, int) else image.height
    return file_bytes + int(image.width * rows * max(pixel, 4))


def _jpeg_header(content: bytes, kind: Format, name: str) -> Header:
    """Size and orientation by Pillow's reader of headers; scans and components read here."""
    starts = _starts_of_scans(content)
    if len(starts) > MAX_JPEG_SCANS:
        raise too_large(name, f"has more than {MAX_JPEG_SCANS} scans")
    with opened(content, kind, name) as image:
        size, mode, orientation = image.size, image.mode, _orientation_of(image)
    scans, halves = _jpeg_scans(content, starts[-1] if starts else 0)
    pixels = size[0] * size[1]
    if scans * pixels > MAX_SCANNED_PIXELS:
        raise too_large(name, f"has {scans} scans of {pixels:,} pixels")
    # Several scans need all coefficients in memory, two bytes each (T.81 annex G).
    held = pixels * ((2 * halves if scans > 1 else 0) + (4 if mode == "CMYK" else 0))
    return _made(kind, size, name, orientation=orientation, decoder_bytes=held)


def _starts_of_scans(content: bytes) -> list[int]:
    """Where the two bytes of a start of scan stand, compared all at once: FF is everywhere."""
    at: list[int] = []
    octets = np.frombuffer(content, dtype=np.uint8)
    for start in range(0, len(octets), 2**20):  # so that little memory is needed
        part = octets[start : start + 2**20 + 1]
        at += (start + np.flatnonzero((part[:-1] == 0xFF) & (part[1:] == 0xDA))).tolist()
    return at


def _jpeg_scans(content: bytes, last: int) -> tuple[int, float]:
    """Scans of the main picture, and its samples a pixel; ``last`` is where the last one starts."""
    scans, samples = 0, 3.0
    position = 2
    for _ in range(PIECES):
        found = _NEXT_MARKER.search(content, position) if position <= last else None
        if not found or found[1] == b"\xd9":
            break
        marker, position = found[1][0], found.end()
        if marker == 0x01:  # stands alone, without a length
            continue
        length = int.from_bytes(content[position : position + 2], "big")
        # SOF0 to SOF15 without DHT (C4), JPG (C8) and DAC (CC), T.81 table B.1
        if 0xC0 <= marker <= 0xCF and marker not in (0xC4, 0xC8, 0xCC):
            samples = _samples(content[position : position + length])
        scans += marker == 0xDA
        position += max(length, 2)
    return scans, samples


def _samples(frame: bytes) -> float:
    factors = [(byte >> 4, byte & 15) for byte in frame[9::3]][: frame[7] if len(frame) > 7 else 0]
    across, down = (max((f[i] for f in factors), default=1) or 1 for i in (0, 1))
    return sum(h * v for h, v in factors) / (across * down) or 3.0


def _webp_header(content: bytes, kind: Format, name: str) -> Header:
    """Read here, because opening a WebP by Pillow takes memory for all its pixels at once."""
    size, exif, animated, opacity = (0, 0), b"", False, False
    for number, (chunk, data) in enumerate(riff_chunks(content)):
        if chunk == b"VP8X" and number == 0:
            animated, opacity = bool(data[0] & 0x02), bool(data[0] & 0x10)
            size = tuple(1 + int.from_bytes(data[at : at + 3], "little") for at in (4, 7))  # type: ignore[assignment]
        elif chunk in (b"VP8 ", b"VP8L"):
            stated = _webp_frame(chunk, data)
            opacity = opacity or chunk == b"VP8L"
            size = (max(size[0], stated[0]), max(size[1], stated[1]))
        elif chunk == b"EXIF":
            exif = data
    if 0 in size:
        raise damaged(name, "its header cannot be read")
    pixels = size[0] * size[1]
    # Animations go through Pillow, which keeps four pictures; the others through OpenCV, with the
    # planes of the decoder and, for opacity, a second picture.
    return _made(
        kind,
        size,
        name,
        orientation=_orientation_in(exif) if exif else None,
        decoder_bytes=pixels * (16 if animated else 8 if opacity else 3),
    )


def is_animated_webp(content: bytes) -> bool:
    """Tell whether a WebP holds several frames (RFC 9649 2.7.1)."""
    return content[12:16] == b"VP8X" and bool(content[20] & 0x02)


def _webp_frame(chunk: bytes, data: bytes) -> tuple[int, int]:
    if chunk == b"VP8 " and data[3:6] == b"\x9d\x01\x2a":
        width, height = int.from_bytes(data[6:8], "little"), int.from_bytes(data[8:10], "little")
        return width & 0x3FFF, height & 0x3FFF
    if chunk == b"VP8L" and data[:1] == b"\x2f":
        bits = int.from_bytes(data[1:5], "little")
        return 1 + (bits & 0x3FFF), 1 + ((bits >> 14) & 0x3FFF)
    return 0, 0


def _heif_header(content: bytes, kind: Format, name: str) -> Header:
    import pillow_heif

    heif = pillow_heif.open_heif(content, convert_hdr_to_8bit=True)
    exif = heif.info.get("exif")
    deep = int(heif.info.get("bit_depth") or 8) > 8
    # Planes of the decoder (two bytes a sample when deep), and a second picture for opacity.
    pixel = (7.5 if deep else 2.25) + (4 if heif.mode == "RGBA" else 0)
    return _made(
        kind,
        heif.size,
        name,
        orientation=_orientation_in(exif) if exif else None,
        turned=True,
        decoder_bytes=heif.size[0] * heif.size[1] * pixel,
    )


def _avif_header(content: bytes, kind: Format, name: str) -> Header:
    from PIL import features

    if not features.check("avif"):
        raise damaged(name, "this computer's Pillow was built without AVIF")
    with opened(content, kind, name) as image:
        size, mode, orientation = image.size, image.mode, _orientation_of(image)
    # The decoder's planes, its RGB, and Pillow's copy of that.
    pixel = _av1_planes(content) + (9 if mode == "RGBA" else 8)
    return _made(kind, size, name, orientation=orientation, decoder_bytes=size[0] * size[1] * pixel)


def _av1_planes(content: bytes) -> float:
    """Bytes of the planes for each pixel, from the codec's settings (AV1-ISOBMFF 2.3.3)."""
    found = [content[at.end() + 1] for at in re.finditer(rb"av1C\x81", content[:_BOXES])]
    return max((_bytes_of_planes(flags) for flags in found), default=6.0)


def _bytes_of_planes(flags: int) -> float:
    deep, grey, half_across, half_down = (bool(flags & bit) for bit in (0x40, 0x10, 0x08, 0x04))
    colours = 0.0 if grey else 2.0 / (1 + half_across) / (1 + half_down)
    return (1.0 + colours) * (1 + deep)
