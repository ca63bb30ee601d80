"""Choose which part of a photo goes into a packet, and encode it within a number of bytes."""

from __future__ import annotations

from triage.analysis.images import Pixels, as_jpeg, shrink
from triage.analysis.view import Box

LONG_SIDE = 2000  # pixels of the part that is shown, where the photo has that many
MARGIN = 0.25  # of the insect's box, on each side, for what it sits on; common practice, no source
QUALITIES = (92, 88, 84, 80, 75, 70, 64, 58, 52, 46, 40)  # of JPEG, the best first
SMALLER = 0.85  # of the long side, once the lowest quality is too large still


def shown_part(box: Box | None, width: int, height: int) -> tuple[int, int, int, int]:
    """The pixels x0, y0, x1, y1 of a photo that a packet shows.

    The insect stands in the middle with room around it, and the part has the shape of the photo
    and at least 2,000 pixels on its longer side; a photo without so many is shown whole.

    Examples
    --------
    >>> shown_part((0.4, 0.4, 0.6, 0.6), 4000, 3000)
    (1000, 750, 3000, 2250)
    >>> shown_part((0.0, 0.0, 0.1, 0.1), 4000, 3000)
    (0, 0, 2000, 1500)
    >>> shown_part(None, 4000, 3000), shown_part((0.4, 0.4, 0.6, 0.6), 1600, 1200)
    ((0, 0, 4000, 3000), (0, 0, 1600, 1200))
    """
    if box is None:
        return 0, 0, width, height
    x0, y0, x1, y1 = box
    needed = max(x1 - x0, y1 - y0) * (1 + 2 * MARGIN)
    share = min(1.0, max(needed, LONG_SIDE / max(width, height)))
    wide, high = round(share * width), round(share * height)
    left = min(max(round((x0 + x1) / 2 * width - wide / 2), 0), width - wide)
    top = min(max(round((y0 + y1) / 2 * height - high / 2), 0), height - high)
    return left, top, left + wide, top + high


def within_part(box: Box, part: tuple[int, int, int, int], width: int, height: int) -> Box:
    """The same box as fractions of a part of the photo.

    Examples
    --------
    >>> within_part((0.4, 0.4, 0.6, 0.6), (1000, 750, 3000, 2250), 4000, 3000)
    (0.3, 0.3, 0.7, 0.7)
    """
    left, top, right, bottom = part

    def across(value: float) -> float:
        return round(min(max((value * width - left) / (right - left), 0.0), 1.0), 4)

    def down(value: float) -> float:
        return round(min(max((value * height - top) / (bottom - top), 0.0), 1.0), 4)

    return across(box[0]), down(box[1]), across(box[2]), down(box[3])


def jpeg_within(rgb: Pixels, most_bytes: int) -> tuple[bytes, int, int]:
    """Encode a picture at the best quality that fits, without any metadata.

    Where the lowest quality is too large, the picture is made smaller until it fits.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (height, width, 3)
    most_bytes : int
        At least 1,024: less holds no picture.

    Returns
    -------
    jpeg : bytes
    width, height : int
        In pixels, as encoded.

    Raises
    ------
    ValueError
        If ``most_bytes`` is below 1,024.
    """
    if most_bytes < 1024:
        raise ValueError(f"{most_bytes} bytes hold no picture")
    pixels = shrink(rgb, LONG_SIDE)
    while True:
        for quality in QUALITIES:
            jpeg = as_jpeg(pixels, quality=quality)
            if len(jpeg) <= most_bytes:
                return jpeg, pixels.shape[1], pixels.shape[0]
        if max(pixels.shape[:2]) <= 32:
            return jpeg, pixels.shape[1], pixels.shape[0]
        pixels = shrink(pixels, max(32, int(max(pixels.shape[:2]) * SMALLER)))
