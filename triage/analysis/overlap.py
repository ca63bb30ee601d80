"""Measure how far the pixels of two pictures agree, one laid on the other.

A copy differs from its source by tone, noise, softness, and by what was laid over it. A second
exposure of the same scene differs where something moved: in patches, with both pictures natural.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Plane = NDArray[np.float32]
    Mask = NDArray[np.bool_]

_COMPARE_PX = 256  # long side at which pixels are compared: recompression and blur matter less
_WINDOW = 15  # side in pixels of the neighbourhood that is correlated
_FLAT = 4.0  # grey values 0 to 255: below this standard deviation a neighbourhood says nothing
_AGREES = 0.7  # correlation from which a neighbourhood counts as the same
_CHANGED = 12.0  # grey values: more than recompression at quality 10 and noise of sigma 12 leave
_NOISE_TIMES = 4.0  # and more than this many times the spread of all differences
_LEAST_CHANGED = 0.003  # share of the overlap: below, nothing is looked for elsewhere
_PATCH_PX = 3  # changes thinner than this are edges of a picture a little out of place, or words
_CLIPPED = 4.0  # grey values this close to black or white no longer know what they were
_PAGE_SHARE = 0.004  # of the area: an even region of this size is border, bar or page
_PAGE_RANGE = 8.0  # grey values within such a region
_REACH = 0.25  # of the long side: how far a thing is looked for that is not where it was
_FOUND_AGAIN = 0.85  # correlation of a tile with where it went
_BETTER = 2.0  # times as close as what is left where it was, and as what was there before
_TILE_PX = 16  # side of what is looked for elsewhere
_TILE_COVERED = 0.6  # share of a tile that has changed
_TILES_ASKED = 12  # those with most contrast


@dataclass(frozen=True, slots=True, kw_only=True)
class Overlap:
    """How far two aligned pictures agree.

    ``agreement`` in [0, 1]: share of the overlap's neighbourhoods with texture in either picture
    whose correlation is at least 0.7; 0 where nothing has texture. ``difference`` in [0, 255]:
    mean absolute difference of grey values; 255 without overlap. ``changed`` in [0, 1]: share of
    the overlap in patches that differ, whatever the tone. ``moved``: a changed patch of
    the one picture is found elsewhere in the other. The covers are the overlap's share of each
    picture.
    """

    agreement: float
    difference: float
    changed: float
    moved: bool
    cover_first: float
    cover_second: float


def compare_pixels(
    first: NDArray[np.uint8], second: NDArray[np.uint8], matrix: NDArray[np.float64]
) -> Overlap:
    """How far two aligned pictures agree, neighbourhood by neighbourhood and patch by patch.

    Parameters
    ----------
    first, second : uint8 arrays, shape (height, width)
        Grey pictures.
    matrix : float array, shape (2, 3)
        Takes pixel positions (x, y) of ``second`` to ``first``.

    Returns
    -------
    Overlap
        Brightness, contrast and gamma hardly change it.

    Raises
    ------
    ValueError
        If ``matrix`` is not 2 x 3.

    Notes
    -----
    About 8 ms at 512 pixels on one core.
    """
    import cv2

    if matrix.shape != (2, 3):
        raise ValueError(f"an affine matrix is 2 x 3, not {matrix.shape}")
    height, width = first.shape
    warped = np.asarray(cv2.warpAffine(second, matrix, (width, height)), dtype=np.uint8)
    inside = cv2.warpAffine(np.full_like(second, 255), matrix, (width, height)) > 250
    common = float(np.count_nonzero(inside))
    area = abs(float(np.linalg.det(matrix[:, :2]))) * second.size
    a, b = _shrunk(first), _shrunk(warped)
    within = _shrunk(inside.astype(np.uint8)) >= 0.999
    correlation, deviation, valid = _local_correlation(a, b, within)
    natural = _natural(a, b, within)
    textured = valid & natural & (deviation >= _FLAT)
    changed, moved = _changes(a, b, correlation, textured, natural & _eroded(within))
    return Overlap(
        agreement=float(np.mean(correlation[textured] >= _AGREES)) if textured.any() else 0.0,
        difference=float(np.abs(a - b)[valid].mean()) if valid.any() else 255.0,
        changed=changed,
        moved=moved,
        cover_first=common / inside.size,
        cover_second=min(1.0, common / area) if area > 0 else 0.0,
    )


def _shrunk(plane: NDArray[np.uint8]) -> Plane:
    """At comparing size, smoothed against noise: texture that two pictures do not share."""
    import cv2

    height, width = plane.shape
    factor = _COMPARE_PX / max(height, width)
    size = (max(1, round(width * factor)), max(1, round(height * factor)))
    small = cv2.resize(plane.astype(np.float32), size, interpolation=cv2.INTER_AREA)
    return np.asarray(cv2.GaussianBlur(small, (0, 0), 1.0), dtype=np.float32)


def _eroded(mask: Mask) -> Mask:
    import cv2

    return np.asarray(cv2.erode(mask.astype(np.uint8), np.ones((7, 7), np.uint8)) > 0)


def _local_correlation(a: Plane, b: Plane, inside: Mask) -> tuple[NDArray[Any], NDArray[Any], Mask]:
    """Pearson correlation in a window round every pixel, the larger deviation, where it holds."""
    mean_a, mean_b = _window_mean(a, _WINDOW), _window_mean(b, _WINDOW)
    variance_a = np.maximum(_window_mean(a * a, _WINDOW) - mean_a**2, 0)
    variance_b = np.maximum(_window_mean(b * b, _WINDOW) - mean_b**2, 0)
    covariance = _window_mean(a * b, _WINDOW) - mean_a * mean_b
    correlation = covariance / np.sqrt(np.maximum(variance_a * variance_b, 1e-6))
    valid = _window_mean(inside.astype(np.float32), _WINDOW) >= 0.999
    return correlation, np.sqrt(np.maximum(variance_a, variance_b)), valid


def _window_mean(plane: Plane, side: int) -> NDArray[Any]:
    import cv2

    return np.asarray(cv2.boxFilter(plane.astype(np.float64), -1, (side, side)))


def _natural(a: Plane, b: Plane, inside: Mask) -> Mask:
    """Where neither a bar nor a page hides the other picture; everywhere if that is under half."""
    natural = ~(_pages(a) ^ _pages(b))
    enough = 2 * np.count_nonzero(natural & inside) >= np.count_nonzero(inside)
    return natural if enough else np.ones_like(natural)


def _changes(
    a: Plane, b: Plane, correlation: NDArray[Any], textured: Mask, asked: Mask
) -> tuple[float, bool]:
    """The share of changed patches, and whether what they show is found elsewhere."""
    import cv2

    clipped = (np.minimum(a, b) <= _CLIPPED) | (np.maximum(a, b) >= 255 - _CLIPPED)
    asked = asked & ~clipped
    textured = textured & asked
    if not textured.any():
        return 0.0, False
    same = textured & (correlation >= _AGREES)
    same = same if np.count_nonzero(same) >= 200 else asked
    distance = np.abs(a - _with_tones_of(a, b, same))
    noise = 1.48 * float(np.median(distance[textured]))  # standard deviation from the median
    differs = asked & (distance > max(_CHANGED, _NOISE_TIMES * noise))
    shape = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (_PATCH_PX, _PATCH_PX))
    patches = cv2.morphologyEx(differs.astype(np.uint8), cv2.MORPH_OPEN, shape)
    changed = min(1.0, float(np.count_nonzero(patches) / np.count_nonzero(asked)))
    moved = changed > _LEAST_CHANGED and _found_elsewhere(a, b, np.asarray(patches))
    return changed, moved


def _with_tones_of(a: Plane, b: Plane, where: Mask) -> NDArray[Any]:
    """The second plane with its grey values changed to what they mostly are in the first."""
    shades = (b[where] / 8).astype(int)
    order = np.argsort(shades, kind="stable")
    found, start = np.unique(shades[order], return_index=True)
    groups = np.split(a[where][order], start[1:])
    kept = [
        (shade * 8 + 4, np.median(g))
        for shade, g in zip(found, groups, strict=True)
        if len(g) >= 10
    ]
    if len(kept) < 2:
        return b.astype(np.float64)
    given, wanted = np.array(kept, dtype=np.float64).T
    return np.interp(b, given, np.maximum.accumulate(wanted))


def _pages(plane: Plane) -> Mask:
    """Large regions of one even grey value, with the words on them: no camera makes such."""
    import cv2

    mean = _window_mean(plane, 5)
    even = _window_mean(plane * plane, 5) - mean**2 < 1.5**2
    count, regions, facts, _ = cv2.connectedComponentsWithStats(even.astype(np.uint8))
    page = np.zeros(plane.shape, np.uint8)
    for region in range(1, count):
        if facts[region, cv2.CC_STAT_AREA] >= _PAGE_SHARE * plane.size:
            values = plane[regions == region]
            if float(values.max() - values.min()) <= _PAGE_RANGE:
                page[regions == region] = 1
    whole = cv2.morphologyEx(page, cv2.MORPH_CLOSE, np.ones((21, 21), np.uint8))
    return np.asarray(cv2.dilate(whole, np.ones((7, 7), np.uint8)) > 0)  # with its soft edge


def _found_elsewhere(a: Plane, b: Plane, patches: NDArray[Any]) -> bool:
    """Whether tiles of the changed patches of either picture went the same way in the other."""
    covered = _window_mean(patches.astype(np.float32), _TILE_PX) >= _TILE_COVERED
    half = _TILE_PX // 2
    inner = np.zeros_like(covered)
    inner[half:-half:half, half:-half:half] = True
    places = np.argwhere(covered & inner) - half
    return any(_went_together(here, there, places) for here, there in ((a, b), (b, a)))


def _went_together(here: Plane, there: Plane, places: NDArray[np.intp]) -> bool:
    tiles = [(here[y : y + _TILE_PX, x : x + _TILE_PX], int(y), int(x)) for y, x in places]
    tiles = sorted(tiles, key=lambda tile: -float(tile[0].std()))[:_TILES_ASKED]
    ways = np.array(
        [
            way
            for tile, y, x in tiles
            if float(tile.std()) >= 2 * _FLAT and (way := _way(here, there, tile, y, x))
        ]
    )
    if len(ways) < 2:
        return False
    together = np.abs(ways[:, np.newaxis] - ways).max(axis=2) <= 1
    return int(together.sum(axis=1).max()) >= 2


def _way(here: Plane, there: Plane, tile: Plane, y: int, x: int) -> tuple[int, int] | None:
    """How far down and right the tile went: from where it is not any more to where it was not."""
    reach = round(_REACH * max(here.shape))
    top, left = max(0, y - reach), max(0, x - reach)
    after = _scores(there[top : y + _TILE_PX + reach, left : x + _TILE_PX + reach], tile)
    home = _around(y - top, x - left)
    stayed = float(after[home].max())
    after[home] = -1.0
    row, column = (int(each) for each in np.unravel_index(int(np.argmax(after)), after.shape))
    gone_to = float(after[row, column])
    if gone_to < _FOUND_AGAIN or _BETTER * (1 - gone_to) > 1 - stayed:
        return None
    rows, columns = _around(top + row, left + column)
    before = here[
        rows.start : rows.stop - 1 + _TILE_PX, columns.start : columns.stop - 1 + _TILE_PX
    ]
    if _BETTER * (1 - gone_to) > 1 - float(_scores(before, tile).max()):
        return None
    return top + row - y, left + column - x


def _around(row: int, column: int) -> tuple[slice, slice]:
    return slice(max(0, row - 1), row + 2), slice(max(0, column - 1), column + 2)


def _scores(field: Plane, patch: Plane) -> NDArray[Any]:
    import cv2

    return np.array(cv2.matchTemplate(field, patch, cv2.TM_CCOEFF_NORMED), dtype=np.float64)
