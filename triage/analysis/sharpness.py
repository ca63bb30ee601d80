"""Grey pixels in, how sharp they are out: 1 sharp, 0 blurred.

What is already blurred along a direction changes little when it is blurred again along it, so the
loss of edge energy tells the blur that was there. Comparing a picture with its re-blurred self is
the idea of Crete et al. (2007), who average over all pixels and two directions. Here only the few
strongest edges of each of four directions count, at full and at half size, and the direction that
loses least decides, which shows a moving camera. A formula fitted on photos blurred in known ways
turns both into a blur in pixels; docs/focus.md says how.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from triage.analysis import images

METHOD = "directional re-blur 2"

PRE_SMOOTHING = 1.0  # pixels, sigma; keeps noise out of the edges
RE_BLUR, RE_BLUR_HALF = 1.0, 2.0  # pixels, sigma, at full and at half size
WORKING_LENGTH = 800  # pixels, of the insect when it is looked at as a whole; docs/focus.md
FULL_TILE = 768  # pixels, side of the tile at full resolution
STRONGEST_SHARE = 0.003  # of the pixels are taken for edges in each direction
SMALLEST_SIDE = 24  # pixels; less than this holds no edge and its neighbourhood
MARGIN = 5  # pixels along the frame that are not looked at
FLATTEST_EDGE = 1.5  # grey levels a pixel after smoothing; below is rounding of an 8-bit picture
NOISE_EDGE = 0.8  # the same in units of the noise: the smoothed slope of noise has 0.2 of it, so
#                   this is four standard deviations
BLUR_AT_HALF = 1.5  # pixels, sigma of the blur at which focus is one half
SAMPLED_ROWS = 400  # rows that the histogram of slopes is taken from
STEPS_A_LEVEL = 6.0  # steps of the histogram of slopes in a grey level a pixel

# Blur in pixels is exp(INTERCEPT + KEPT * k + KEPT_SQUARED * k**2 + KEPT_HALF * max(0, h)) - OFFSET
# for the log odds k and h at full and half size; fitted as docs/focus.md says.
INTERCEPT, KEPT, KEPT_SQUARED, KEPT_HALF, OFFSET = -1.388, 1.578, -0.241, 0.293, 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """Log odds of the share of edge energy that a re-blur leaves, at full and at half size, in the
    direction that keeps most; both grow with blur."""

    kept: float
    kept_half: float


def focus(grey: npt.ArrayLike) -> float:
    """Focus of a grey picture from the blur of its sharpest edges.

    Parameters
    ----------
    grey : array_like of uint8 or float, shape (height, width)
        Luma, 0 to 255, at the resolution at which sharpness is asked.

    Returns
    -------
    float
        In [0, 1]: 1 is sharp to the pixel, 0.5 a blur of 1.5 pixels (standard deviation), 0 fully
        blurred. A flat picture, mere noise, or a side below 24 pixels gives 0: no edge can be
        seen.

    Raises
    ------
    ValueError
        If the array has not two dimensions or holds values that are not finite.

    References
    ----------
    Crete, F., Dolmiere, T., Ladret, P., Nicolas, M. (2007). The blur effect: perception and
    estimation with a new no-reference perceptual blur metric. Proc. SPIE 6492, 64920I.
    doi:10.1117/12.702790

    Examples
    --------
    >>> focus(np.zeros((32, 32)))
    0.0
    """
    seen = evidence(grey)
    return 0.0 if seen is None else 1.0 / (1.0 + (blur_of(seen) / BLUR_AT_HALF) ** 2)


def blur_of(seen: Evidence) -> float:
    """Blur in pixels (standard deviation along an axis, all directions in the square)."""
    kept = min(seen.kept, -KEPT / (2 * KEPT_SQUARED))  # where the parabola would turn back
    score = INTERCEPT + KEPT * kept + KEPT_SQUARED * kept**2 + KEPT_HALF * max(0.0, seen.kept_half)
    return float(max(0.0, np.exp(score) - OFFSET))


def evidence(grey: npt.ArrayLike) -> Evidence | None:
    """What the strongest edges say, or None where there is no edge; see `focus` for the input."""
    picture: Any = np.asarray(grey, dtype=np.float32)
    if picture.ndim != 2:
        raise ValueError(f"a grey picture has two dimensions, got {picture.ndim}")
    if not np.isfinite(picture).all():
        raise ValueError("the picture holds values that are not finite")
    if min(picture.shape) < SMALLEST_SIDE:
        return None
    floor = max(FLATTEST_EDGE, NOISE_EDGE * noise_level(picture))
    spare = np.zeros(picture.size, np.float32), np.zeros(picture.size, np.float32)
    full = [_kept(*slope, RE_BLUR, floor, spare[1]) for slope in _slopes(picture, spare[0])]
    if any(kept is None for kept in full):
        return None
    half = [
        _kept(*slope, RE_BLUR_HALF, FLATTEST_EDGE, spare[1])
        for slope in _slopes(_half(picture), spare[0])
    ]
    return Evidence(
        kept=_log_odds(max(kept for kept in full if kept is not None)),
        kept_half=_log_odds(max(kept if kept is not None else 1.0 for kept in half)),
    )


def focus_on(
    rgb: npt.NDArray[np.uint8], box: tuple[float, float, float, float], *, length_px: float
) -> float:
    """Focus of the insect: the mean of a look at a working size and one at full resolution.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (height, width, 3)
        Upright, at full size.
    box : tuple of four floats
        x0, y0, x1, y1 of the insect's body, fractions of the picture.
    length_px : float
        Length of the insect in pixels of this picture.

    Returns
    -------
    float
        In [0, 1], as `focus`.
    """
    part = region(rgb, box)
    near = focus(images.grey_of(_middle(part, FULL_TILE)))
    scale = WORKING_LENGTH / max(length_px, 1.0)
    if scale >= 1.0:
        return near
    whole = images.shrink(part, max(1, round(max(part.shape[:2]) * scale)))
    return 0.5 * near + 0.5 * focus(images.grey_of(whole))


def _middle(part: Any, side: int) -> Any:
    top, left = max(0, (part.shape[0] - side) // 2), max(0, (part.shape[1] - side) // 2)
    return part[top : top + side, left : left + side]


def region(pixels: npt.NDArray[np.uint8], box: tuple[float, float, float, float]) -> Any:
    """The part of a picture inside a box of fractions, at least 1 pixel each way."""
    height, width = pixels.shape[:2]
    left, top = min(int(box[0] * width), width - 1), min(int(box[1] * height), height - 1)
    right = max(left + 1, min(width, int(np.ceil(box[2] * width))))
    lower = max(top + 1, min(height, int(np.ceil(box[3] * height))))
    return pixels[top:lower, left:right]


def noise_level(picture: Any) -> float:
    """Standard deviation of white noise in grey levels; fine texture adds to it.

    References
    ----------
    Immerkaer, J. (1996). Fast noise variance estimation. Computer Vision and Image Understanding
    64, 300-302. doi:10.1006/cviu.1996.0060
    """
    import cv2

    mask = np.array([[1, -2, 1], [-2, 4, -2], [1, -2, 1]], dtype=np.float32)
    filtered = cv2.filter2D(picture, cv2.CV_32F, mask)[1:-1, 1:-1]
    return float(np.sqrt(np.pi / 2) / 6 * cv2.norm(filtered, cv2.NORM_L1) / filtered.size)


def _half(picture: Any) -> Any:
    import cv2

    size = (picture.shape[1] // 2, picture.shape[0] // 2)
    even = picture[: 2 * size[1], : 2 * size[0]]
    return cv2.resize(even, size, interpolation=cv2.INTER_AREA)


def _slopes(picture: Any, spare: Any) -> Iterator[tuple[Any, float]]:
    """Slopes in four directions, each laid out so that its direction runs down the columns.

    Rows cut one longer or one shorter than the picture's put diagonal neighbours under each other,
    so that every re-blur is the same fast filter. With the slopes comes the length of a step. All
    four use the spare memory in turn: fresh memory would cost as much as the arithmetic.
    """
    import cv2

    side = 2 * int(3 * PRE_SMOOTHING + 0.5) + 1
    smooth: Any = cv2.GaussianBlur(picture, (side, side), PRE_SMOOTHING)
    width = smooth.shape[1]
    for row_length, step in ((width, 1.0), (width + 1, 2**0.5), (width - 1, 2**0.5)):
        slope = _down(_cut(smooth.ravel(), row_length), spare)
        _clear_margin(_cut(slope.ravel(), width))
        yield slope, step
    slope = _down(cv2.transpose(smooth), spare)
    _clear_margin(slope)
    yield slope, 1.0


def _cut(flat: Any, row_length: int) -> Any:
    """As many whole rows of a length as the memory holds."""
    rows = flat.size // row_length
    return flat[: rows * row_length].reshape(rows, row_length)


def _down(laid: Any, spare: Any) -> Any:
    """Central differences down the columns; the first and the last row have none."""
    import cv2

    slope = _cut(spare[: laid.size], laid.shape[1])
    cv2.subtract(laid[2:], laid[:-2], dst=slope[1:-1])
    slope[0] = slope[-1] = 0
    return slope


def _clear_margin(slope: Any) -> None:
    """No edges near the frame: there the rows of a slanting layout run into each other."""
    slope[:MARGIN] = slope[-MARGIN:] = 0
    slope[:, :MARGIN] = slope[:, -MARGIN:] = 0


def _kept(slope: Any, step: float, re_blur: float, floor: float, spare: Any) -> float | None:
    """Share of the energy of the strongest edges that a re-blur leaves; None without an edge."""
    import cv2

    levels = cv2.convertScaleAbs(slope, alpha=STEPS_A_LEVEL / (2.0 * step))
    sample = levels[:: 1 + levels.shape[0] // SAMPLED_ROWS]
    counts: Any = cv2.calcHist([sample], [0], None, [256], [0, 256])
    above = np.cumsum(counts.ravel()[::-1])
    level = 255 - int(np.searchsorted(above, STRONGEST_SHARE * sample.size))
    bound: Any = max(float(level), floor * STEPS_A_LEVEL)
    mask: Any = cv2.compare(levels, bound, cv2.CMP_GE)
    before = cv2.norm(slope, cv2.NORM_L2SQR, mask)
    if not before:
        return None
    again = _cut(spare[: slope.size], slope.shape[1])
    cv2.sepFilter2D(slope, cv2.CV_32F, np.ones(1), _gaussian(re_blur / step), dst=again)
    return float(cv2.norm(again, cv2.NORM_L2SQR, mask) / before)


def _gaussian(sigma: float) -> npt.NDArray[np.float64]:
    reach = np.arange(-int(3 * sigma + 0.5), int(3 * sigma + 0.5) + 1)
    weights = np.exp(-0.5 * (reach / sigma) ** 2)
    return np.asarray(weights / weights.sum())


def _log_odds(share: float) -> float:
    inside = min(max(share, 1e-3), 1 - 1e-3)
    return float(np.log(inside / (1 - inside)))
