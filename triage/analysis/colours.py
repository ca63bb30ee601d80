"""Make a small signature of an insect's colours, and compare two.

A histogram of chroma (CIE a*, b*) and lightness inside the box, weighted towards its centre and
set against the frame outside it, so that the reed behind the insect counts little. Compared by
histogram intersection (Swain, M. J. & Ballard, D. H., 1991, Color indexing, Int. J. Comput.
Vis. 7: 11-32, doi 10.1007/BF00130487).
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import numpy as np
from numpy.typing import NDArray

from triage.analysis import images

LEAST_PX = 256  # long side that is enough: nothing finer than the insect's parts is asked
CHROMA_BINS = 6  # each of a*, b*; chosen small so that light and shade matter little
LIGHTNESS_BINS = 3


def colour_signature(
    rgb: NDArray[np.uint8], box: tuple[float, float, float, float]
) -> tuple[float, ...]:
    """Describe the colours that stand out inside the box.

    Parameters
    ----------
    rgb : uint8 array, shape (height, width, 3)
        Upright image, looked at 256 pixels long or a little more.
    box : four floats
        x0, y0, x1, y1 as fractions of the image.

    Returns
    -------
    tuple of 108 floats
        Non-negative, sum 1; a box without area gives a flat signature.
    """
    import cv2

    rgb = images.halved(rgb, LEAST_PX)
    height, width = rgb.shape[:2]
    x0, x1 = sorted((round(box[0] * width), round(box[2] * width)))
    y0, y1 = sorted((round(box[1] * height), round(box[3] * height)))
    size = CHROMA_BINS * CHROMA_BINS * LIGHTNESS_BINS
    if x1 - x0 < 2 or y1 - y0 < 2:
        return (1.0 / size,) * size
    lab = cv2.cvtColor(rgb, cv2.COLOR_RGB2LAB)
    cells = _cells(np.asarray(lab))
    weights = np.outer(np.hanning(y1 - y0 + 2)[1:-1], np.hanning(x1 - x0 + 2)[1:-1])
    counted = np.bincount(cells[y0:y1, x0:x1].ravel(), weights.ravel(), minlength=size)
    inside = _softened(counted.astype(np.float64))
    inside = inside / inside.sum()
    everywhere, within = (
        np.bincount(part.ravel(), minlength=size) for part in (cells, cells[y0:y1, x0:x1])
    )
    outside = _softened((everywhere - within).astype(np.float64))
    if outside.sum() > 0:
        outside /= outside.sum()
        # What the surroundings show as well tells nothing about the insect.
        inside = inside * (inside + 1e-3) / (inside + outside + 1e-3)
        inside /= inside.sum()
    return tuple(round(float(value), 5) for value in inside)


def likeness(first: Sequence[float], second: Sequence[float]) -> float:
    """Histogram intersection of two signatures.

    Returns
    -------
    float in [0, 1]
        1 for the same colours, 0 for none in common; 0.5 when either is missing.
    """
    if not first or not second or len(first) != len(second):
        return 0.5
    return float(np.minimum(first, second).sum())


def _softened(counts: NDArray[np.float64]) -> NDArray[np.float64]:
    """Neighbouring bins share, so that a little more light does not make another colour."""
    bins = counts.reshape(LIGHTNESS_BINS, CHROMA_BINS, CHROMA_BINS)
    for axis, count in enumerate(bins.shape):
        at = np.arange(count)
        low, high = (bins.take(np.clip(at + step, 0, count - 1), axis) for step in (-1, 1))
        bins = 0.25 * low + 0.5 * bins + 0.25 * high
    return bins.ravel()


def _cells(lab: NDArray[np.uint8]) -> NDArray[np.uint8]:
    lightness, a, b = _cells_of_values()
    return lightness.take(lab[..., 0]) + a.take(lab[..., 1]) + b.take(lab[..., 2])


@cache
def _cells_of_values() -> tuple[NDArray[np.uint8], NDArray[np.uint8], NDArray[np.uint8]]:
    """What each of the 256 values of L*, a* and b* adds to the number of a cell."""
    values = np.arange(256)
    lightness = values * LIGHTNESS_BINS // 256
    # Chroma crowds around 128: stretch the middle before cutting it into bins.
    stretched = np.clip((values.astype(np.float64) - 128) / 48, -1, 0.9999)
    chroma = (((stretched + 1) / 2) * CHROMA_BINS).astype(np.int64)
    found = lightness * CHROMA_BINS**2, chroma * CHROMA_BINS, chroma
    return found[0].astype(np.uint8), found[1].astype(np.uint8), found[2].astype(np.uint8)
