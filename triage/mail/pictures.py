"""A picture found in a mail in; whether it is a photo or a logo, icon or tracking pixel out.

The pixel size is read from the file's header only; no pixel is decoded here.
"""

from __future__ import annotations

import re
from dataclasses import replace

from triage.mail.file_names import file_stem
from triage.mail.records import Part, PartOutcome

# All in pixels of the longer side unless said otherwise; chosen so that a doubtful picture is
# taken in, because a logo too many costs a glance and a photo too few is lost.
PIXEL_SIDE = 10  # a picture no larger than this is a tracking pixel or a spacer
ICON_SIDE = 100  # smaller than this nothing can be told from an insect
INLINE_PHOTO_SIDE = 240  # "small" of phone mail programs is 320 pixels wide
INLINE_DRAWING_SIDE = 400  # PNG and GIF are logos more often than photos
INLINE_DRAWING_BYTES = 30_000
BANNER_RATIO = 3.0  # longer over shorter side; no camera makes one, panoramas come attached
ATTACHED_LOGO_SIDE = 600

_LOGO_NAME = re.compile(
    r"(?i)(?:^|[^a-z])(?:logos?|signature|signatur|banner|icons?|spacer|pixel|tracking|badge|"
    r"avatar|emoji|facebook|twitter|linkedin|instagram|youtube|footer|stopka)(?:[^a-z]|$)"
)


def judge_picture(
    content: bytes, *, media_type: str, file_name: str, inline: bool
) -> tuple[PartOutcome, str]:
    """Decide whether a picture is taken in; return the outcome and its reason.

    ``inline`` says that the HTML text shows it or that the sender's program marked it so. A
    picture attached as a file is taken in unless it is too small to show an insect or bears a
    logo's name and a logo's size.
    """
    size = pixel_size(content, media_type)
    if size is None:
        return "taken in", "a picture"
    width, height = size
    longer, shorter = max(size), min(size)
    shown = f"{width} x {height} pixels"
    if longer <= PIXEL_SIDE or shorter <= 2:
        return "kept, not examined", f"a tracking pixel or spacer: {shown}"
    if longer < ICON_SIDE:
        return "kept, not examined", f"an icon: only {shown}"
    named_logo = bool(_LOGO_NAME.search(file_name))
    if not inline:
        if named_logo and longer <= ATTACHED_LOGO_SIDE:
            return "kept, not examined", f"a logo by its name and size: {shown}"
        return "taken in", f"a picture of {shown}, attached"
    if from_camera(content):
        return "taken in", f"a picture of {shown} with a camera's data, shown in the text"
    if longer / shorter > BANNER_RATIO and longer < 1600:
        return "kept, not examined", f"a banner shown in the text: {shown}"
    if named_logo and longer <= ATTACHED_LOGO_SIDE:
        return "kept, not examined", f"a logo by its name and size: {shown}"
    drawing = media_type in ("image/png", "image/gif")
    least = INLINE_DRAWING_SIDE if drawing else INLINE_PHOTO_SIDE
    if longer < least or (drawing and len(content) < INLINE_DRAWING_BYTES):
        return "kept, not examined", f"most likely a signature's logo, shown in the text: {shown}"
    return "taken in", f"a picture of {shown}, shown in the text"


def from_camera(content: bytes) -> bool:
    """Tell whether the first bytes hold an Exif block, which logos do not bring."""
    return b"Exif\x00\x00" in content[:4096]


def pixel_size(content: bytes, media_type: str) -> tuple[int, int] | None:
    """Read width and height from the header of a picture, or None where they are not found."""
    reader = _READERS.get(media_type)
    size = reader(content) if reader else None
    return size if size and min(size) > 0 else None


def pair_moving_halves(parts: list[Part]) -> list[Part]:
    """Name the still picture that a short video belongs to, where both came in one message."""
    stills = {
        (part.envelope, file_stem(part.file_name)): part.file_name
        for part in parts
        if part.media_type in ("image/heif", "image/jpeg") and part.file_name
    }
    paired = []
    for part in parts:
        partner = stills.get((part.envelope, file_stem(part.file_name)))
        if partner and part.media_type.startswith("video/"):
            part = replace(part, reason=f"the moving half of the picture {partner}; not examined")
        paired.append(part)
    return paired


def _png_size(content: bytes) -> tuple[int, int] | None:
    if content[12:16] != b"IHDR" or len(content) < 24:
        return None
    return int.from_bytes(content[16:20], "big"), int.from_bytes(content[20:24], "big")


def _gif_size(content: bytes) -> tuple[int, int] | None:
    if len(content) < 10:
        return None
    return int.from_bytes(content[6:8], "little"), int.from_bytes(content[8:10], "little")


def _jpeg_size(content: bytes) -> tuple[int, int] | None:
    position = 2
    for _ in range(1000):
        if content[position : position + 1] != b"\xff":
            return None
        marker = content[position + 1 : position + 2]
        if marker == b"\xff":  # fill byte, ITU-T T.81 B.1.1.2
            position += 1
            continue
        # SOF0 to SOF15 without DHT (C4), JPG (C8) and DAC (CC), ITU-T T.81 table B.1
        if marker and 0xC0 <= marker[0] <= 0xCF and marker[0] not in (0xC4, 0xC8, 0xCC):
            frame = content[position + 5 : position + 9]
            if len(frame) < 4:
                return None
            return int.from_bytes(frame[2:4], "big"), int.from_bytes(frame[0:2], "big")
        if marker in (b"\xd9", b"\xda", b""):
            return None
        length = int.from_bytes(content[position + 2 : position + 4], "big")
        position += 2 + max(length, 2)
    return None


def _webp_size(content: bytes) -> tuple[int, int] | None:
    kind, data = content[12:16], content[20:30]
    if len(data) < 10:
        return None
    if kind == b"VP8X":
        return 1 + int.from_bytes(data[4:7], "little"), 1 + int.from_bytes(data[7:10], "little")
    if kind == b"VP8 " and data[3:6] == b"\x9d\x01\x2a":
        width, height = int.from_bytes(data[6:8], "little"), int.from_bytes(data[8:10], "little")
        return width & 0x3FFF, height & 0x3FFF
    if kind == b"VP8L" and data[:1] == b"\x2f":
        bits = int.from_bytes(data[1:5], "little")
        return 1 + (bits & 0x3FFF), 1 + ((bits >> 14) & 0x3FFF)
    return None


def _heif_size(content: bytes) -> tuple[int, int] | None:
    # The largest image spatial extents property (ISO/IEC 23008-12, 6.5.3): the others are tiles
    # and thumbnails.
    sizes: list[tuple[int, int]] = []
    position = 0
    while len(sizes) < 200 and (found := content.find(b"ispe", position, 65_536)) >= 0:
        position = found + 4
        box = content[found + 8 : found + 16]
        if len(box) == 8:
            sizes.append((int.from_bytes(box[:4], "big"), int.from_bytes(box[4:], "big")))
    return max(sizes, key=lambda size: size[0] * size[1], default=None)


_READERS = {
    "image/png": _png_size,
    "image/gif": _gif_size,
    "image/jpeg": _jpeg_size,
    "image/webp": _webp_size,
    "image/heif": _heif_size,
}
