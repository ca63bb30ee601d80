"""Measure how well focus tells a blurred insect from a blurred background.

From each photo whose insect is sharp two are made: one with the insect blurred, one with all but
the insect. The area under the curve (AUC) is the chance that focus is higher on a photo of the
second kind than on one of the first, over all photos and amounts of blur.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from triage import quality
from triage.analysis import images, sharpness
from triage.analysis.view import Box
from triage.bench.figures import Figure, area_under_curve, figure
from triage.bench.labels import Labelled
from triage.bench.out_of_fold import box_of, outline_of, row_of

REFERENCE_SIDE = 1024  # pixels at which sigmas are stated; smaller photos get as much less
STRONG = (1.5, 2.5, 4.0, 6.0)  # standard deviation of the Gaussian blur
FINE = (0.7, 1.0)  # the same, with noise and recompression after it
LARGE_SIDE = 700  # pixels; in a smaller photo the finest blur changes less than a pixel's quarter
NOISE, QUALITY = 3.0, 85
DRAWS, MOST = 200, 400  # of the groups for intervals; photos used at most
FEATHER = 0.015  # of the longer side: the soft edge between blurred and not

Focus = Callable[[images.Pixels], float]


def selective_blur(
    labels: Sequence[Labelled],
    *,
    focus: Focus | None = None,
) -> list[Figure]:
    """Measure the areas under the curve on labelled photos.

    Parameters
    ----------
    labels : sequence of Labelled
        Those of odonates with a box and a label of focus count.
    focus : callable
        Upright RGB in, focus out; ours unless given: the whole measurement for a photo that is
        new to the shipped networks. For one they were trained on, what was fitted without its
        fold measures in the box that was found, in the unaltered photo, without its fold.

    Returns
    -------
    list of Figure
        For sigma 1.5 to 6; for 0.7 and 1.0 with noise and recompression after it; the same for
        photos of 700 pixels and more, where so little blur changes pixels; for photos labelled
        sharp against soft or blurred, unaltered. NaN where a kind of photo is missing.
    """
    used = [one for one in labels if one.odonate and one.box and one.focus][:MOST]
    strong, fine, large, eye = _Pairs(), _Pairs(), _Pairs(), _Pairs()
    for number, one in enumerate(used):
        random = np.random.default_rng((0, number))
        rgb = one.rgb()
        measure = focus or held_out_focus(one.content())
        eye.add(one.group, measure(rgb), one.focus == "sharp")
        if one.focus != "sharp" or one.box is None:
            continue
        for sigma in STRONG:
            for inside in (True, False):
                altered = blurred_part(rgb, one.box, sigma, inside=inside)
                strong.add(one.group, measure(altered), not inside)
        for sigma in FINE:
            for inside in (True, False):
                altered = worn(blurred_part(rgb, one.box, sigma, inside=inside), random)
                found = measure(altered)
                fine.add(one.group, found, not inside)
                if max(rgb.shape[:2]) >= LARGE_SIDE:
                    large.add(one.group, found, not inside)
    return [
        scored.figure(name, count=len(used))
        for name, scored in (
            ("insect or background blurred, sigma 1.5 to 6, AUC", strong),
            ("the same, sigma 0.7 and 1.0, noise, JPEG", fine),
            ("the same, photos of 700 pixels and more", large),
            ("sharp or soft by eye, AUC", eye),
        )
    ]


def held_out_focus(content: bytes) -> Focus:
    """Our focus, by what had not seen the photo."""
    row = row_of(content)
    if row is None:
        return lambda rgb: quality.measure(rgb).focus
    fold, box, outline = int(row["fold"]), box_of(row["body_box"]), outline_of(row["outline"])

    def measure(rgb: images.Pixels) -> float:
        height, width = rgb.shape[:2]
        length = quality.length_px(box, width=width, height=height)
        return sharpness.focus_on(rgb, box, length_px=length, outline=outline, fold=fold)

    return measure


def blurred_part(rgb: images.Pixels, box: Box, sigma: float, *, inside: bool) -> images.Pixels:
    """The photo with a Gaussian blur inside the box, or everywhere else.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (height, width, 3)
    box : tuple of four floats
        x0, y0, x1, y1, fractions of the photo.
    sigma : float
        In pixels of a photo of 1,024 pixels on its longer side.
    inside : bool
        Whether the box is blurred or all the rest.
    """
    import cv2

    height, width = rgb.shape[:2]
    longest = max(height, width)
    soft = cv2.GaussianBlur(rgb, (0, 0), sigma * longest / REFERENCE_SIDE).astype(np.float32)
    mask = np.zeros((height, width), dtype=np.float32)
    left, right = round(box[0] * width), round(box[2] * width)
    mask[round(box[1] * height) : round(box[3] * height), left:right] = 1.0
    share: Any = cv2.GaussianBlur(mask, (0, 0), FEATHER * longest)[..., None]
    share = share if inside else 1.0 - share
    mixed: images.Pixels = np.clip(np.round(share * soft + (1.0 - share) * rgb), 0, 255).astype(
        np.uint8
    )
    return mixed


def worn(rgb: images.Pixels, random: np.random.Generator) -> images.Pixels:
    """The photo with noise of standard deviation 3 and one round of JPEG at quality 85."""
    noisy = rgb + random.normal(0, NOISE, rgb.shape)
    content = images.as_jpeg(np.clip(np.round(noisy), 0, 255).astype(np.uint8), quality=QUALITY)
    return images.decode(content).rgb


class _Pairs:
    """Scores of two kinds of photos with the group of each."""

    def __init__(self) -> None:
        self.groups: list[str] = []
        self.scores: list[float] = []
        self.better: list[bool] = []

    def add(self, group: str, score: float, better: bool) -> None:
        self.groups.append(group)
        self.scores.append(score)
        self.better.append(better)

    def figure(self, name: str, *, count: int) -> Figure:
        """The area under the curve; NaN where one kind is missing."""
        scores, better = np.array(self.scores), np.array(self.better, dtype=bool)
        return figure(
            name,
            self.groups,
            lambda rows: area_under_curve(scores[rows], better[rows]),
            count=count,
            draws=DRAWS,
        )
