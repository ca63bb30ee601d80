"""Grey pixels in, how sharp they are out: 1 sharp, 0 blurred.

A directional re-blur. What is already blurred along a direction changes little when it is blurred
again along it, so the loss of edge energy tells the blur that was there. The idea of comparing a
picture with its re-blurred self is that of Crete et al. (2007), who average over all pixels and
two directions; here only the strongest edges of four directions count and each is re-blurred
along its own gradient, so that noise and texture weigh little and motion blur shows.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

METHOD = "directional re-blur 1"

PRE_SMOOTHING = 1.0  # pixels, sigma; common practice, no source: keeps noise out of the edges
RE_BLUR = 2.0  # pixels, sigma; chosen in docs/focus.md
STRONGEST_SHARE = 0.03  # of the pixels are taken for edges; chosen in docs/focus.md
WORKING_LENGTH = 480  # pixels, of the insect when it is looked at as a whole; docs/focus.md
FULL_TILE = 1024  # pixels, side of the tile at full resolution
SMALLEST_SIDE = 16  # pixels; less than this holds no edge and its neighbourhood
FLATTEST_EDGE = 1.5  # grey levels a pixel after smoothing; below is noise of an 8-bit picture

_DIRECTIONS = ((1, 0), (0, 1), (1, 1), (1, -1))


def focus(grey: npt.ArrayLike) -> float:
    """Focus of a grey picture: the least sharpness over four directions.

    Parameters
    ----------
    grey : array_like of uint8 or float, shape (height, width)
        Luma, 0 to 255, at the resolution at which sharpness is asked.

    Returns
    -------
    float
        In [0, 1]: 1 is sharp to the pixel, 0 is fully blurred. A flat picture, or one with a
        side below 16 pixels, gives 0: no edge can be seen.

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
    import cv2

    picture = np.asarray(grey, dtype=np.float32)
    if picture.ndim != 2:
        raise ValueError(f"a grey picture has two dimensions, got {picture.ndim}")
    if not np.isfinite(picture).all():
        raise ValueError("the picture holds values that are not finite")
    if min(picture.shape) < SMALLEST_SIDE:
        return 0.0
    smooth: Any = cv2.GaussianBlur(picture, (0, 0), PRE_SMOOTHING, borderType=cv2.BORDER_REFLECT)
    return float(min(_kept_edge(smooth, dx, dy) for dx, dy in _DIRECTIONS))


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
    import cv2

    part = region(rgb, box)
    grey = cv2.cvtColor(part, cv2.COLOR_RGB2GRAY)
    scale = WORKING_LENGTH / max(length_px, 1.0)
    near = _middle(grey, FULL_TILE)
    if scale >= 1.0:
        return focus(near)
    size = (max(1, round(grey.shape[1] * scale)), max(1, round(grey.shape[0] * scale)))
    return 0.5 * focus(cv2.resize(grey, size, interpolation=cv2.INTER_AREA)) + 0.5 * focus(near)


def _middle(grey: Any, side: int) -> Any:
    top, left = max(0, (grey.shape[0] - side) // 2), max(0, (grey.shape[1] - side) // 2)
    return grey[top : top + side, left : left + side]


def _kept_edge(smooth: Any, dx: int, dy: int) -> float:
    """Share of the edge energy along one direction that a re-blur takes away, in [0, 1]."""
    import cv2

    slope: Any = cv2.filter2D(smooth, cv2.CV_32F, _line(np.array([-0.5, 0, 0.5]), dx, dy))
    slope /= float(np.hypot(dx, dy))
    strength = np.abs(slope)
    level = _upper_level(strength, STRONGEST_SHARE)
    edges = strength >= max(level, FLATTEST_EDGE)
    if not edges.any():
        return 0.0
    again = cv2.filter2D(slope, cv2.CV_32F, _line(_gaussian(RE_BLUR / np.hypot(dx, dy)), dx, dy))
    before = float(np.square(slope[edges]).sum(dtype=np.float64))
    after = float(np.square(again[edges]).sum(dtype=np.float64))
    return min(1.0, max(0.0, 1.0 - after / before))


def _upper_level(values: npt.NDArray[np.float32], share: float) -> float:
    """The value that ``share`` of the values exceed, by a histogram of 1,024 steps."""
    top = float(values.max())
    if top <= 0:
        return 0.0
    counts, edges = np.histogram(values, bins=1024, range=(0, top))
    above = np.cumsum(counts[::-1])[::-1]
    return float(edges[int(np.count_nonzero(above > share * values.size))])


def _gaussian(sigma: float) -> npt.NDArray[np.float64]:
    reach = np.arange(-int(3 * sigma + 0.5), int(3 * sigma + 0.5) + 1)
    weights = np.exp(-0.5 * (reach / sigma) ** 2)
    return np.asarray(weights / weights.sum())


def _line(weights: npt.NDArray[np.float64], dx: int, dy: int) -> npt.NDArray[np.float32]:
    """A kernel that lays the weights along a direction."""
    half = len(weights) // 2
    kernel = np.zeros((2 * half + 1, 2 * half + 1), dtype=np.float32)
    for step, weight in zip(range(-half, half + 1), weights, strict=True):
        kernel[half + step * dy, half + step * dx] = weight
    if dx == 0:
        return kernel[:, half : half + 1]
    return kernel[half : half + 1, :] if dy == 0 else kernel


def region(pixels: npt.NDArray[np.uint8], box: tuple[float, float, float, float]) -> Any:
    """The part of a picture inside a box of fractions, at least 1 pixel each way."""
    height, width = pixels.shape[:2]
    left, top = min(int(box[0] * width), width - 1), min(int(box[1] * height), height - 1)
    right = max(left + 1, min(width, int(np.ceil(box[2] * width))))
    lower = max(top + 1, min(height, int(np.ceil(box[3] * height))))
    return pixels[top:lower, left:right]
