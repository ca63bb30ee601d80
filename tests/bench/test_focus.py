"""Kernels against their closed-form second moments; what is blurred in part, and measured so."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
import pytest
import skimage.data
from PIL import Image

from triage.bench.blurring import AMOUNT_OF, blurred, disc_kernel, line_kernel
from triage.bench.figures import area_under_curve
from triage.bench.labels import Labelled
from triage.bench.vision.selective import blurred_part, selective_blur


def spread(kernel: np.ndarray) -> float:
    """Root mean square distance from the centre along an axis, averaged over both."""
    rows, columns = np.indices(kernel.shape) - kernel.shape[0] // 2
    return float(np.sqrt((kernel * (rows**2 + columns**2)).sum() / 2))


def detail(grey: np.ndarray) -> float:
    """Variance of the Laplacian."""
    return float(cv2.Laplacian(grey, cv2.CV_32F).var())


@pytest.mark.parametrize("radius", [2.0, 3.0, 6.0])
def test_a_disc_spreads_half_its_radius(radius: float) -> None:
    kernel = disc_kernel(radius)
    assert kernel.sum() == pytest.approx(1, abs=1e-6)
    assert spread(kernel) == pytest.approx(radius / AMOUNT_OF["disc"], abs=0.1)


@pytest.mark.parametrize("length", [7.0, 11.0, 21.0])
@pytest.mark.parametrize("angle", [0.0, 0.5, 2.0])
def test_a_line_spreads_its_length_over_the_root_of_24(length: float, angle: float) -> None:
    kernel = line_kernel(length, angle)
    assert kernel.sum() == pytest.approx(1, abs=1e-6)
    assert spread(kernel) == pytest.approx(length / AMOUNT_OF["motion"], abs=0.12)


@pytest.mark.parametrize("inside", [True, False])
def test_only_the_wanted_part_is_blurred(inside: bool) -> None:
    rgb = skimage.data.astronaut()
    altered = blurred_part(rgb, (0.25, 0.25, 0.75, 0.75), 8.0, inside=inside)
    change = np.abs(altered.astype(int) - rgb).mean(axis=2)
    centre, corner = change[200:300, 200:300].mean(), change[:60, :60].mean()
    assert (centre > 3 > corner) if inside else (corner > 3 > centre)


@pytest.mark.parametrize("family", ["gaussian", "motion", "disc"])
def test_blur_lowers_detail_and_none_changes_nothing(family: str) -> None:
    grey, random = skimage.data.camera(), np.random.default_rng(1)
    assert (blurred(grey, family, 0.0, random) == grey).all()
    altered = blurred(grey, family, AMOUNT_OF[family], random)
    assert detail(altered) < 0.6 * detail(grey.astype(np.float32))
    with pytest.raises(ValueError, match="not negative"):
        blurred(grey, family, -1.0, random)


def test_the_area_under_the_curve_is_the_share_of_pairs_in_order() -> None:
    scores = np.array([0.1, 0.4, 0.35, 0.8, 0.4])
    better = np.array([False, False, True, True, True])
    pairs = [(x > y) + 0.5 * (x == y) for x in scores[better] for y in scores[~better]]
    assert area_under_curve(scores, better) == pytest.approx(np.mean(pairs))
    assert np.isnan(area_under_curve(scores, np.ones(5, dtype=bool)))


def test_selective_blur_needs_a_measure_that_looks_at_the_box(tmp_path: Path) -> None:
    labels = []
    for name in ("astronaut", "chelsea", "coffee"):
        Image.fromarray(getattr(skimage.data, name)()).save(tmp_path / f"{name}.png")
        labels.append(
            Labelled(
                file=f"{name}.png",
                folder=tmp_path,
                kind="adult",
                source="",
                group=name,
                odonate=True,
                suborder="",
                view="",
                sure=True,
                box=(0.3, 0.3, 0.7, 0.7),
                body_box=None,
                focus="sharp",
                notes="",
            )
        )

    def centre_detail(rgb: np.ndarray) -> float:
        height, width = rgb.shape[:2]
        part = rgb[height // 3 : 2 * height // 3, width // 3 : 2 * width // 3]
        whole = detail(np.ascontiguousarray(rgb[..., 1]))
        return detail(np.ascontiguousarray(part[..., 1])) / whole

    strong, *_, by_eye = selective_blur(labels, focus=centre_detail)
    assert strong.count == 3
    assert strong.value > 0.95
    assert strong.low <= strong.value
    assert np.isnan(by_eye.value)
