"""Find the TIFF block that holds a photo's Exif, whatever the container.

JPEG: ISO/IEC 10918-1 markers, Exif in APP1; PNG: eXIf chunk (PNG third edition, 2025); WebP: RIFF
chunk EXIF (RFC 9649); HEIF and AVIF: item of type Exif (ISO/IEC 23008-12, annex A.2); TIFF: the
file itself.
"""

from __future__ import annotations

import io
import warnings

from triage.analysis.media_types import riff_chunks

MAX_READS = 20_000  # per file; of 203 sample files 201 need under 1,100
MAX_BYTES_READ = 16 * 1024 * 1024  # per file, all reads together
MAX_BLOCK = 8 * 1024 * 1024  # of Exif outside TIFF; JPEG's segments allow 64 KiB each

_TIFF_HEADS = (b"II*\0", b"MM\0*")
_BIG_TIFF_HEADS = (b"II+\0", b"MM\0+")


class OverBudget(Exception):
    """A file makes its reader work without end; the reader is stopped."""


class BoundedFile(io.BytesIO):
    """Bytes as a file that counts what is read from it.

    A directory may claim 65,535 tags, each as long as the file: a reader that believes it fills
    memory. Counting at the file bounds any reader, of time and of memory.
    """

    def __init__(
        self, content: bytes, *, reads: int = MAX_READS, size: int = MAX_BYTES_READ
    ) -> None:
        super().__init__(content)
        self._reads_left = reads
        self._bytes_left = size

    def read(self, size: int | None = -1, /) -> bytes:
        """Read up to ``size`` bytes; raise OverBudget once the file's allowance is used up."""
        data = super().read(size)
        self._reads_left -= 1
        self._bytes_left -= len(data)
        if self._reads_left < 0 or self._bytes_left < 0:
            raise OverBudget("the file's directories are read without end")
        return data


def exif_block(content: bytes) -> bytes:
    """Return the TIFF block of a photo file's Exif, or nothing where there is none."""
    if content[:4] in (*_TIFF_HEADS, *_BIG_TIFF_HEADS):
        return content
    if content[:2] == b"\xff\xd8":
        return _from_jpeg(content)
    if content[:8] == b"\x89PNG\r\n\x1a\n":
        return _from_png(content)
    if content[:4] == b"RIFF" and content[8:12] == b"WEBP":
        return _from_webp(content)
    if content[4:8] == b"ftyp":
        return _from_heif(content)
    return b""


def _after_header(block: bytes) -> bytes:
    """Cut the ``Exif 00 00`` identifier that JPEG needs and others copy."""
    if block[:4] == b"Exif":
        block = block[6:]
    return block[:MAX_BLOCK] if block[:4] in _TIFF_HEADS else b""


def _from_jpeg(content: bytes) -> bytes:
    block = b""
    for marker, start, end in jpeg_segments(content):
        if marker != 0xE1 or content[start : start + 5] != b"Exif\0":
            continue
        part = content[start + 6 : end]
        if not block:
            block = part if part[:4] in _TIFF_HEADS else b""
        elif part[:4] not in _TIFF_HEADS:
            block += part  # Exif over 64 KiB goes on in the next segment, without a header
        if len(block) > MAX_BLOCK:
            break
    return block[:MAX_BLOCK]


def jpeg_segments(content: bytes) -> list[tuple[int, int, int]]:
    """Return (marker, start, end) of each segment's data before the first scan."""
    found = []
    at = 2
    while at + 4 <= len(content):
        if content[at] != 0xFF:  # stray bytes between segments: go on at the next marker
            at = content.find(b"\xff", at)
            if at < 0:
                break
            continue
        marker = content[at + 1]
        if marker == 0xFF:
            at += 1
            continue
        if marker == 0x00 or marker == 0x01 or 0xD0 <= marker <= 0xD8:
            at += 2
            continue
        if marker in (0xD9, 0xDA):  # end of image, start of scan
            break
        length = int.from_bytes(content[at + 2 : at + 4], "big")
        found.append((marker, at + 4, min(at + 2 + max(length, 2), len(content))))
        at += 2 + max(length, 2)
    return found


def _from_png(content: bytes) -> bytes:
    at = 8
    while at + 12 <= len(content):
        length = int.from_bytes(content[at : at + 4], "big")
        if content[at + 4 : at + 8] == b"eXIf":
            return _after_header(content[at + 8 : at + 8 + length])
        at += 12 + length
    return _png_raw_profile(content)


def _png_raw_profile(content: bytes) -> bytes:
    # Before eXIf existed, writers put Exif as hexadecimal text into a compressed text chunk.
    if b"Raw profile type " not in content:
        return b""
    from PIL import Image

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        with Image.open(BoundedFile(content)) as image:
            info = dict(image.info)
    for name in ("Raw profile type exif", "Raw profile type APP1"):
        lines = str(info.get(name, "")).split("\n")
        block = _after_header(_unhexed("".join(lines[3:])))
        if block:
            return block
    return b""


def _unhexed(text: str) -> bytes:
    try:
        return bytes.fromhex(text)
    except ValueError:
        return b""


def _from_webp(content: bytes) -> bytes:
    for name, data in riff_chunks(content):
        if name == b"EXIF":
            return _after_header(data)
    return b""


def _from_heif(content: bytes) -> bytes:
    import pillow_heif

    try:
        heif = pillow_heif.open_heif(content, convert_hdr_to_8bit=False)
        block = _after_header(heif.info.get("exif") or b"")
    except Exception:  # the library refuses a file for any fault of its pictures
        block = b""
    return block or _by_search(content)


def _by_search(content: bytes) -> bytes:
    # The item starts with Exif's identifier wherever it lies; enough where the boxes are damaged.
    at = content.find(b"Exif\0\0")
    while at >= 0:
        block = _after_header(content[at : at + MAX_BLOCK])
        if block:
            return block
        at = content.find(b"Exif\0\0", at + 1)
    return b""
