"""Measure how well sharpness measures rank blur that is known.

Every photo is shrunk to one size, blurred by known amounts in three ways (Gaussian, the disc of a
lens out of focus, the line of a moving camera), then left clean or given noise and recompressed.
What counts is Spearman's rank correlation with the true blur pooled over all photos: within one
photo nearly every measure is perfect.
"""

from __future__ import annotations

import time
from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from triage.analysis import images, sharpness
from triage.bench.figures import Figure, Floats, Rows, figure
from triage.bench.out_of_fold import fold_of
from triage.bench.running import markdown
from triage.bench.some_photos import some_photos

Grey = npt.NDArray[np.uint8]
Measure = Callable[[Grey], float]
Family = Literal["gaussian", "motion", "disc"]
Condition = Literal["clean", "noise 3, JPEG 85", "noise 8, JPEG 85", "JPEG 40"]

DRAWS = 200
LONG_SIDE = 400  # pixels to which photos are shrunk first, so that they are comparable
KNOWN_BLURS: tuple[tuple[Family, float], ...] = (
    *(("gaussian", sigma) for sigma in (0.0, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 4.0)),
    *(("motion", length) for length in (3.0, 5.0, 7.0, 11.0, 15.0, 21.0)),
    *(("disc", radius) for radius in (1.0, 2.0, 3.0, 4.0, 6.0)),
)  # standard deviation, length and radius in pixels
AMOUNT_OF: dict[Family, float] = {"gaussian": 1.0, "motion": 24**0.5, "disc": 2.0}  # at sigma 1
CONDITIONS: dict[Condition, tuple[float, int]] = {  # standard deviation of noise, JPEG quality
    "clean": (0.0, 0),
    "noise 3, JPEG 85": (3.0, 85),
    "noise 8, JPEG 85": (8.0, 85),
    "JPEG 40": (0.0, 40),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Ranking:
    """How one measure ranks known blur, and its processor time.

    The figure is Spearman's rho pooled over all photos and families, photos drawn anew.
    """

    condition: Condition
    rho: Figure
    ms_per_megapixel: float


def bench_focus(
    folder: Path,
    *,
    conditions: Sequence[Condition] = ("clean", "noise 3, JPEG 85"),
    most: int = 200,
    seed: int = 0,
) -> list[Ranking]:
    """Rank known blur on every photo of a folder, by our focus and by three usual measures.

    Photos that focus was fitted on are measured by what was fitted without their fold.

    Parameters
    ----------
    folder : Path
        Searched to the bottom; files that are no readable photos are passed over.
    conditions : sequence of Condition
        What happens to the photos after the blur.
    most : int
        Photos used at most, evenly spread over the sorted names.
    seed : int
        Of the noise and of the directions of motion.

    Returns
    -------
    list of Ranking
        One for each measure and condition.

    Raises
    ------
    SourceError
        If the folder holds fewer than two readable photos.
    """
    photos = [
        (images.grey_of(rgb), fold_of(content))
        for _, content, rgb in some_photos(folder, most, side=LONG_SIDE)
    ]
    photos = [one for one in photos if min(one[0].shape) >= 2 * sharpness.SMALLEST_SIDE]
    truth = np.array([equivalent_sigma(family, amount) for family, amount in KNOWN_BLURS])
    rankings = []
    for condition in conditions:
        scores: dict[str, list[list[float]]] = defaultdict(list)
        seconds: dict[str, float] = defaultdict(float)
        pixels = 0
        for row, (photo, fold) in enumerate(photos):
            random = np.random.default_rng((seed, row))
            altered = [
                conditioned(blurred(photo, family, amount, random), condition, random)
                for family, amount in KNOWN_BLURS
            ]
            pixels += sum(one.size for one in altered)
            # In turn, so that none finds another's memory.
            for name, measure in _ours_and_usual(fold).items():
                start = time.process_time()
                scores[name].append([measure(one) for one in altered])
                seconds[name] += time.process_time() - start
        rankings += [
            Ranking(
                condition=condition,
                rho=_pooled(name, np.array(scored), truth, seed),
                ms_per_megapixel=1e9 * seconds[name] / pixels,
            )
            for name, scored in scores.items()
        ]
    return rankings


def lines(rankings: Sequence[Ranking]) -> list[str]:
    """A table in Markdown."""
    headings = ("measure", "pooled rho", "95 % interval", "photos", "condition", "ms a megapixel")
    return markdown(
        headings,
        [(*one.rho.row(), one.condition, f"{one.ms_per_megapixel:.1f}") for one in rankings],
    )


def _ours_and_usual(fold: int | None) -> dict[str, Measure]:
    return {
        "focus": partial(sharpness.focus, fold=fold),
        "blur effect": blur_effect,
        "variance of the Laplacian": variance_of_laplacian,
        "Tenengrad": tenengrad,
    }


def equivalent_sigma(family: Family, amount: float) -> float:
    """Standard deviation of a blur along one axis, averaged in square over directions, in pixels.

    A disc of radius r has r / 2; a line of length L has L / sqrt(12) along itself and nothing
    across.

    Examples
    --------
    >>> equivalent_sigma("disc", 4.0), round(equivalent_sigma("motion", 24**0.5), 3)
    (2.0, 1.0)
    """
    return amount / AMOUNT_OF[family]


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


def conditioned(
    values: npt.NDArray[np.float32], condition: Condition, random: np.random.Generator
) -> Grey:
    """The picture with Gaussian noise and one round of JPEG, as 8-bit grey."""
    return recompressed(values, *CONDITIONS[condition], random)


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


def blur_effect(grey: Grey) -> float:
    """Crete et al. 2007 (doi:10.1117/12.702790) as scikit-image has it, turned: 1 sharp, 0 not."""
    import skimage.measure

    effect: Callable[[Grey], float] = skimage.measure.blur_effect
    return 1.0 - effect(grey)


def variance_of_laplacian(grey: Grey) -> float:
    """Variance of the 3 by 3 Laplacian (Pech-Pacheco et al. 2000, doi:10.1109/ICPR.2000.903548)."""
    import cv2

    return float(cv2.Laplacian(grey, cv2.CV_64F).var())


def tenengrad(grey: Grey) -> float:
    """Mean squared Sobel gradient (Krotkov 1988, doi:10.1007/BF00127822)."""
    import cv2

    across = cv2.Sobel(grey, cv2.CV_64F, 1, 0)
    down = cv2.Sobel(grey, cv2.CV_64F, 0, 1)
    return float(np.mean(across * across + down * down))


def _pooled(name: str, scores: Floats, truth: Floats, seed: int) -> Figure:
    from scipy.stats import spearmanr

    def rho(rows: Rows) -> float:
        return -float(spearmanr(scores[rows].ravel(), np.tile(truth, len(rows))).statistic)

    return figure(name, range(len(scores)), rho, draws=DRAWS, seed=seed)


def _plain(values: Any) -> npt.NDArray[np.float32]:
    return np.asarray(values, dtype=np.float32)
