"""Blurs a picture by known amounts, in the three ways in which photos are blurred.

Gaussian, the disc of a lens out of focus, the line of a moving camera; noise and recompression.
"""

from __future__ import annotations

from typing import Any, Literal

import numpy as np
import numpy.typing as npt

Grey = npt.NDArray[np.uint8]
Family = Literal["gaussian", "motion", "disc"]

# Standard deviation, length and radius in pixels, at which the blur along one axis, averaged in
# square over directions, has a standard deviation of 1: a disc of radius r has r / 2, a line of
# length L has L / sqrt(12) along itself and nothing across.
AMOUNT_OF: dict[Family, float] = {"gaussian": 1.0, "motion": 24**0.5, "disc": 2.0}


def blurred(
    grey: Grey, family: Family, amount: float, random: np.random.Generator
) -> npt.NDArray[np.float32]:
    """The picture blurred by a known amount; motion goes in a random direction.

    Raises
    ------
    ValueError
        If the amount is negative.
    """
    import cv2

    if amount < 0:
        raise ValueError(f"an amount of blur is not negative, got {amount}")
    values = grey.astype(np.float32)
    if amount == 0:
        return values
    if family == "gaussian":
        return _plain(cv2.GaussianBlur(values, (0, 0), amount, borderType=cv2.BORDER_REFLECT))
    angle = float(random.uniform(0, np.pi))
    kernel = disc_kernel(amount) if family == "disc" else line_kernel(amount, angle)
    return _plain(cv2.filter2D(values, cv2.CV_32F, kernel, borderType=cv2.BORDER_REFLECT))


def disc_kernel(radius: float) -> npt.NDArray[np.float32]:
    """A uniform disc, each pixel weighted by the part of it inside; sums to 1."""
    fine = 8
    side = 2 * int(np.ceil(radius)) + 3
    at = (np.arange(side * fine) + 0.5) / fine - side / 2
    inside = np.hypot(*np.meshgrid(at, at)) <= radius
    kernel = inside.reshape(side, fine, side, fine).sum(axis=(1, 3))
    return np.asarray(kernel / kernel.sum(), dtype=np.float32)


def line_kernel(length: float, angle: float) -> npt.NDArray[np.float32]:
    """A uniform line of a length in pixels at an angle in radians; sums to 1."""
    side = 2 * (int(np.ceil(length)) // 2) + 3
    steps = (np.arange(max(1, round(length * 16))) + 0.5) / max(1, round(length * 16)) - 0.5
    kernel = np.zeros((side, side))
    x, y = (side // 2 + steps * length * turn for turn in (np.cos(angle), np.sin(angle)))
    left, top = np.floor(x).astype(int), np.floor(y).astype(int)
    for across, down in ((0, 0), (0, 1), (1, 0), (1, 1)):
        weight = np.abs(1 - across - (x - left)) * np.abs(1 - down - (y - top))
        np.add.at(kernel, (top + down, left + across), weight)
    return np.asarray(kernel / kernel.sum(), dtype=np.float32)


def recompressed(
    values: npt.NDArray[np.float32], noise: float, quality: int, random: np.random.Generator
) -> Grey:
    """The picture with noise of a standard deviation, and JPEG of a quality unless that is 0."""
    import cv2

    noisy = values + random.normal(0, noise, values.shape) if noise else values
    grey: Grey = np.clip(np.round(noisy), 0, 255).astype(np.uint8)
    if not quality:
        return grey
    _, coded = cv2.imencode(".jpg", grey, [cv2.IMWRITE_JPEG_QUALITY, quality])
    decoded: Grey = np.asarray(cv2.imdecode(coded, cv2.IMREAD_GRAYSCALE), dtype=np.uint8)
    return decoded


def _plain(values: Any) -> npt.NDArray[np.float32]:
    return np.asarray(values, dtype=np.float32)
