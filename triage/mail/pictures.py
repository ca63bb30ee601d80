"""Tell a photo in a mail from a logo, icon or tracking pixel.

The pixel size is read from the file's header only; no pixel is decoded here.
"""

from __future__ import annotations

import re
from dataclasses import replace

from triage.analysis import images
from triage.errors import SourceError
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
    """Width and height of the upright picture, or None where its header does not tell."""
    if media_type == "image/heif":  # only cameras make it: no logo is worth a native decoder here
        return None
    try:
        header = images.read_header(content)
    except SourceError:
        return None
    return header.width, header.height


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
