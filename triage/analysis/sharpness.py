"""Measure how sharp grey pixels are: 1 sharp, 0 blurred.

What is already blurred along a direction changes little when it is blurred again along it, so the
loss of edge energy tells the blur that was there. Comparing a picture with its re-blurred self is
the idea of Crete et al. (2007), who average over all pixels and two directions. Here only the few
strongest edges of each of four directions count, as they are, smoothed, and at half size; how
much steeper they are in each is a second sign. A small network turns these eight numbers into a
blur in pixels; it was fitted on photos blurred in known ways (docs/focus.md).
"""

from __future__ import annotations

import math
from dataclasses import astuple, dataclass
from functools import cache, lru_cache
from importlib import resources
from typing import Any

import numpy as np
import numpy.typing as npt

from triage.analysis import images
from triage.analysis.view import Box, Floats, Outline

METHOD = "directional re-blur 4"

SMOOTHING = 1.0  # pixels, sigma; keeps noise out of the edges of the second and the third look
RE_BLUR, RE_BLUR_SMOOTHED, RE_BLUR_HALF = 0.5, 1.0, 2.0  # pixels, sigma, of the three looks
STRONGEST_SHARE = 0.003  # of the pixels are taken for edges in each direction
DIRECTIONS = ((1, 0), (0, 1), (1, 1), (-1, 1))  # pixels to the right and down
SMALLEST_SIDE = 24  # pixels; less than this holds no edge and its neighbourhood
FLATTEST_EDGE = 1.5  # grey levels a pixel; below is rounding of an 8-bit picture
NOISE_EDGE = 2.5  # the same in units of the noise: three and a half standard deviations of a slope
NOISE_EDGE_SMOOTHED = 0.8  # after smoothing a slope of noise has 0.2 of it: four deviations
SEARCHED_ROWS = 200  # rows that edges are looked for in, at least, where there are as many
SAMPLED_ROWS = 64  # rows that noise and the histogram of slopes are taken from, about
STEPS_A_LEVEL = 3.0  # steps of the histogram of slopes in a grey level a pixel
ALL, NONE = np.uint8(255), np.uint8(0)  # bits of a mask
NO_FINE_EDGE = 3.0  # log odds that stand for a look in which no edge rises above the noise

OFFSET = 0.4  # pixels, added before the logarithm of a blur is taken
MOST_BLUR = 8.0  # pixels, sigma; no more was shown to the network
BLUR_AT_HALF = 1.5  # pixels, sigma of the blur at which focus is one half

WORKING_LENGTH = 800  # pixels; a longer insect is looked at as if it had this length
LEAST_REGION = 32  # pixels, least side of the part looked at: a slender body's box is too thin
INNER, INNER_WEIGHT = 0.6, 0.4  # side of the body's middle part over the body's, and its weight
STRIP = 0.07  # of the body's length, about its outline: edges farther off do not count
USUAL_LENGTH, LENGTH_POWER = 400.0, 0.35  # pixels; the same blur weighs less on a longer insect


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """What the strongest edges of a picture say; all but the last two grow with blur.

    Log odds of the share of edge energy that a re-blur leaves: in the direction that keeps most,
    and the mean over directions; of the picture (``fine``), smoothed (``kept``) and at half size
    (``half``). ``steeper`` is the mean logarithm of the slopes over those of the smoothed picture,
    ``steeper_half`` that of the smoothed picture over the half size.
    """

    fine: float
    fine_mean: float
    kept: float
    kept_mean: float
    half: float
    half_mean: float
    steeper: float
    steeper_half: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BlurNetwork:
    """One hidden layer: evidence (8) to the logarithm of blur plus ``OFFSET``."""

    centre: Floats  # 8
    scale: Floats  # 8
    hidden: Floats  # 8 x hidden units
    hidden_bias: Floats  # hidden units
    out: Floats  # hidden units
    out_bias: float

    def log_blur(self, seen: Evidence) -> float:
        """Natural logarithm of the blur in pixels (sigma) plus ``OFFSET``, within what was shown
        to the network."""
        x = (np.array(astuple(seen)) - self.centre) / self.scale
        log = float(np.tanh(x @ self.hidden + self.hidden_bias) @ self.out + self.out_bias)
        return min(max(log, math.log(OFFSET)), math.log(MOST_BLUR + OFFSET))


@cache
def shipped_network(fold: int | None = None) -> BlurNetwork:
    """The network that comes with the program.

    Parameters
    ----------
    fold : int, optional
        The one fitted without this fold of the training photos, to measure on these.
    """
    file = resources.files("triage.analysis.models") / "sharpness.npz"
    at = 0 if fold is None else fold + 1
    with file.open("rb") as opened, np.load(opened, allow_pickle=False) as held:
        layers = {name: held[name][at] for name in held.files}
    return BlurNetwork(**{**layers, "out_bias": float(layers["out_bias"])})


def focus(grey: npt.ArrayLike, *, fold: int | None = None) -> float:
    """Focus of a grey picture from the blur of its sharpest edges.

    Parameters
    ----------
    grey : array_like of uint8 or float, shape (height, width)
        Luma, 0 to 255, at the resolution at which sharpness is asked.
    fold : int, optional
        See ``shipped_network``.

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
    return 0.0 if seen is None else _focus_at(shipped_network(fold).log_blur(seen))


def focus_on(
    rgb: npt.NDArray[np.uint8],
    box: Box,
    *,
    length_px: float,
    outline: Outline | None = None,
    fold: int | None = None,
) -> float:
    """Focus of the insect, looked at in full or, if it is large, at a length of 800 pixels.

    Only edges on the body and in a strip about it count: a stem in the box can be sharper. The
    middle of the box is looked at once more. The same blur weighs less on a longer insect.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (height, width, 3)
        Upright, at full size.
    box : tuple of four floats
        x0, y0, x1, y1 of the insect's body, fractions of the picture.
    length_px : float
        Length of the insect in pixels of this picture.
    outline : four points, optional
        x, y of the body's outermost points, fractions of the picture; the body lies between them.
        Without it all edges in the box count.
    fold : int, optional
        See ``shipped_network``.

    Returns
    -------
    float
        In [0, 1], as `focus`.
    """
    rows, columns = _stretches(rgb, box, LEAST_REGION)
    grey = images.grey_of(rgb[rows, columns])
    scale = min(1.0, WORKING_LENGTH / max(length_px, 1.0))
    if scale < 1.0:
        grey = images.shrink(grey, max(1, round(max(grey.shape) * scale)), exact=True)
    where = None
    if outline is not None:
        size = np.array([rgb.shape[1], rgb.shape[0]])
        inside = (np.array(outline) * size - (columns.start, rows.start)) * scale
        where = _strip(grey.shape, inside, STRIP * length_px * scale)
    whole = evidence(grey, where=where)
    if whole is None:
        return 0.0
    edge = (1.0 - INNER) / 2
    middle = evidence(_at_least(grey, (edge, edge, 1 - edge, 1 - edge), LEAST_REGION))
    network = shipped_network(fold)
    inner = math.log(MOST_BLUR + OFFSET) if middle is None else network.log_blur(middle)
    mixed = (1 - INNER_WEIGHT) * network.log_blur(whole) + INNER_WEIGHT * inner
    length = min(max(length_px, 1.0), WORKING_LENGTH)
    return _focus_at(mixed - LENGTH_POWER * math.log(length / USUAL_LENGTH))


def _strip(shape: tuple[int, ...], points: Floats, reach: float) -> Any:
    """255 between points (x, y in pixels) and within ``reach`` of there, 0 elsewhere."""
    import cv2

    hull = np.rint(cv2.convexHull(points.astype(np.float32))).astype(np.int32)
    mask = np.zeros(shape, np.uint8)
    cv2.fillConvexPoly(mask, hull, 255)
    cv2.polylines(mask, [hull], True, 255, thickness=max(3, round(2 * reach)))
    return mask


def _focus_at(log_blur: float) -> float:
    blur = max(0.0, math.exp(log_blur) - OFFSET)
    return 1.0 / (1.0 + (blur / BLUR_AT_HALF) ** 2)


def evidence(grey: npt.ArrayLike, *, where: Any = None) -> Evidence | None:
    """What the strongest edges say, or None where there is no edge; see `focus` for the input.

    ``where``, uint8 of the same shape, is 0 where edges do not count.
    """
    import cv2

    picture: Any = np.ascontiguousarray(grey, dtype=np.float32)
    if picture.ndim != 2:
        raise ValueError(f"a grey picture has two dimensions, got {picture.ndim}")
    if not math.isfinite(cv2.norm(picture, cv2.NORM_L1)):
        raise ValueError("the picture holds values that are not finite")
    if min(picture.shape) < SMALLEST_SIDE:
        return None
    # One piece of memory for all looks: fresh memory would cost as much as the arithmetic.
    spare = np.empty(picture.size, np.float32), np.empty(picture.size, np.uint8)
    noise = noise_level(picture)
    least = max(FLATTEST_EDGE, NOISE_EDGE_SMOOTHED * noise)
    kept = _look(_smoothed(picture), RE_BLUR_SMOOTHED, least, spare, where)
    if len(kept.shares) < len(DIRECTIONS):
        return None
    fine = _look(picture, RE_BLUR, max(FLATTEST_EDGE, NOISE_EDGE * noise), spare, where)
    smaller = _half(picture)
    where = None if where is None else _half(where)
    half = _look(_smoothed(smaller), RE_BLUR_HALF, FLATTEST_EDGE, spare, where)
    return Evidence(
        fine=fine.most(),
        fine_mean=fine.mean(),
        kept=kept.most(),
        kept_mean=kept.mean(),
        half=half.most(),
        half_mean=half.mean(),
        steeper=fine.steeper_than(kept),
        steeper_half=kept.steeper_than(half),
    )


@dataclass(frozen=True, slots=True)
class _Look:
    """Shares of energy kept and root mean squares of slopes, of the directions with edges."""

    shares: list[float]
    slopes: list[float]

    def most(self) -> float:
        return _log_odds(max(self.shares)) if self.shares else NO_FINE_EDGE

    def mean(self) -> float:
        return _log_odds(sum(self.shares) / len(self.shares)) if self.shares else NO_FINE_EDGE

    def steeper_than(self, other: _Look) -> float:
        if not self.slopes or not other.slopes:
            return 0.0
        return float(np.mean(np.log(self.slopes)) - np.mean(np.log(other.slopes)))


def _look(
    picture: Any, re_blur: float, least: float, spare: tuple[Any, Any], where: Any = None
) -> _Look:
    """Re-blur the strongest edges of each direction, along it, where they are and nowhere else.

    ``least`` is the slope of an edge in grey levels a pixel, at least.
    """
    import cv2

    height, width = picture.shape
    margin = _reach(re_blur) + 2  # no edges where the re-blur would leave the picture
    found = _Look([], [])
    if min(height, width) < 2 * margin + 4:
        return found
    every = 1 + height // SEARCHED_ROWS
    inside = len(range(margin, height - margin, every)), width - 2 * margin
    slope, level = (piece[: inside[0] * inside[1]].reshape(inside) for piece in spare)
    flat = picture.ravel()
    inner = slice(margin, height - margin, every), slice(margin, width - margin)
    counted = None if where is None else np.where(where[inner] > 0, ALL, NONE)
    for right, down in DIRECTIONS:
        step = math.hypot(right, down)
        ahead, behind = (
            picture[
                margin + sign * down : height - margin + sign * down : every,
                margin + sign * right : width - margin + sign * right,
            ]
            for sign in (1, -1)
        )
        cv2.subtract(ahead, behind, dst=slope)
        cv2.convertScaleAbs(slope, dst=level, alpha=STEPS_A_LEVEL / (2 * step))
        if counted is not None:
            cv2.bitwise_and(level, counted, dst=level)
        at = np.flatnonzero(level >= max(1, _strongest(level, least)))
        if not at.size:
            continue
        weights = _gaussian(re_blur / step)
        reach = len(weights) // 2
        start = at + at // inside[1] * (every * width - inside[1]) + margin * (width + 1)
        values = flat.take(start + _along(reach, down * width + right))
        slopes = values[2:] - values[:-2]
        again = weights @ slopes
        energy = float(slopes[reach] @ slopes[reach])
        found.shares.append(float(again @ again) / energy)
        found.slopes.append(math.sqrt(energy / at.size) / (2 * step))
    return found


@lru_cache(maxsize=64)
def _along(reach: int, stride: int) -> npt.NDArray[np.int64]:
    """Where the pixels along a direction lie in memory, from before the first to after the last."""
    return np.arange(-reach - 1, reach + 2)[:, None] * stride


def _strongest(level: Any, least: float) -> int:
    """The step of the histogram from which slopes are taken for edges; 256 takes none."""
    import cv2

    sample = np.ascontiguousarray(level[:: 1 + level.shape[0] // SAMPLED_ROWS])
    counts: Any = cv2.calcHist([sample], [0], None, [256], [0, 256])
    above = np.cumsum(counts.ravel()[::-1])
    step = 255 - int(np.searchsorted(above, STRONGEST_SHARE * sample.size))
    return min(256, max(step, math.ceil(least * STEPS_A_LEVEL)))


def _smoothed(picture: Any) -> Any:
    import cv2

    side = 2 * _reach(SMOOTHING) + 1
    return cv2.GaussianBlur(picture, (side, side), SMOOTHING)


def _half(picture: Any) -> Any:
    import cv2

    size = (picture.shape[1] // 2, picture.shape[0] // 2)
    even = picture[: 2 * size[1], : 2 * size[0]]
    return cv2.resize(even, size, interpolation=cv2.INTER_AREA)


def region(pixels: npt.NDArray[np.uint8], box: Box) -> Any:
    """The part of a picture inside a box of fractions, at least 1 pixel each way."""
    return _at_least(pixels, box, 1)


def _at_least(pixels: npt.NDArray[np.uint8], box: Box, side: int) -> Any:
    """The part inside a box, widened about its middle to a least side where there are pixels."""
    return pixels[_stretches(pixels, box, side)]


def _stretches(pixels: npt.NDArray[np.uint8], box: Box, side: int) -> tuple[slice, slice]:
    rows = _stretch(box[1], box[3], pixels.shape[0], side)
    return rows, _stretch(box[0], box[2], pixels.shape[1], side)


def _stretch(low: float, high: float, count: int, least: int) -> slice:
    start = min(int(low * count), count - 1)
    end = max(start + 1, min(count, math.ceil(high * count)))
    missing = max(0, least - (end - start))
    start = max(0, min(start - missing // 2, count - least))
    return slice(start, min(count, max(end, start + least)))


def noise_level(picture: Any) -> float:
    """Standard deviation of white noise in grey levels, from some rows; fine texture adds to it.

    References
    ----------
    Immerkaer, J. (1996). Fast noise variance estimation. Computer Vision and Image Understanding
    64, 300-302. doi:10.1006/cviu.1996.0060
    """
    every = 1 + picture.shape[0] // SAMPLED_ROWS
    rows = picture[:-2:every] - 2 * picture[1:-1:every] + picture[2::every]
    both = rows[:, :-2] - 2 * rows[:, 1:-1] + rows[:, 2:]
    return float(np.sqrt(np.pi / 2) / 6 * np.abs(both).mean())


def _reach(sigma: float) -> int:
    return int(3 * sigma + 0.5)


@cache
def _gaussian(sigma: float) -> npt.NDArray[np.float32]:
    steps = np.arange(-_reach(sigma), _reach(sigma) + 1)
    weights = np.exp(-0.5 * (steps / sigma) ** 2)
    return np.asarray(weights / weights.sum(), dtype=np.float32)


def _log_odds(share: float) -> float:
    inside = min(max(share, 1e-3), 1 - 1e-3)
    return math.log(inside / (1 - inside))
