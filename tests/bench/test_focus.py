"""Usual measures against scipy's filters; kernels against their closed-form second moments."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import scipy.ndimage
import skimage.data
from PIL import Image

from triage.bench.figures import area_under_curve
from triage.bench.focus.known_blur import (
    bench_focus,
    disc_kernel,
    equivalent_sigma,
    line_kernel,
    tenengrad,
    variance_of_laplacian,
)
from triage.bench.focus.selective import blurred_part, selective_blur
from triage.bench.labels import Labelled
from triage.errors import SourceError


def spread(kernel: np.ndarray) -> float:
    """Root mean square distance from the centre along an axis, averaged over both."""
    rows, columns = np.indices(kernel.shape) - kernel.shape[0] // 2
    return float(np.sqrt((kernel * (rows**2 + columns**2)).sum() / 2))


def test_the_laplacian_agrees_with_scipy() -> None:
    grey = skimage.data.camera()
    expected = scipy.ndimage.laplace(grey.astype(float), mode="mirror").var()
    assert variance_of_laplacian(grey) == pytest.approx(expected, rel=1e-9)


def test_tenengrad_agrees_with_scipy() -> None:
    grey = skimage.data.camera().astype(float)
    across = scipy.ndimage.sobel(grey, axis=1, mode="mirror")
    down = scipy.ndimage.sobel(grey, axis=0, mode="mirror")
    assert tenengrad(skimage.data.camera()) == pytest.approx(np.mean(across**2 + down**2), rel=1e-9)


@pytest.mark.parametrize("radius", [2.0, 3.0, 6.0])
def test_a_disc_spreads_half_its_radius(radius: float) -> None:
    kernel = disc_kernel(radius)
    assert kernel.sum() == pytest.approx(1, abs=1e-6)
    assert spread(kernel) == pytest.approx(equivalent_sigma("disc", radius), abs=0.1)


@pytest.mark.parametrize("length", [7.0, 11.0, 21.0])
@pytest.mark.parametrize("angle", [0.0, 0.5, 2.0])
def test_a_line_spreads_its_length_over_the_root_of_24(length: float, angle: float) -> None:
    kernel = line_kernel(length, angle)
    assert kernel.sum() == pytest.approx(1, abs=1e-6)
    assert spread(kernel) == pytest.approx(equivalent_sigma("motion", length), abs=0.12)


def test_known_blur_is_ranked_better_by_focus_than_by_the_laplacian(tmp_path: Path) -> None:
    for name in ("astronaut", "camera", "chelsea", "coffee", "rocket"):
        Image.fromarray(getattr(skimage.data, name)()).save(tmp_path / f"{name}.png")
    (tmp_path / "broken.png").write_bytes(b"no picture")
    found = {row.rho.name: row.rho for row in bench_focus(tmp_path, conditions=("clean",))}
    ours, usual = found["focus"], found["variance of the Laplacian"]
    assert ours.count == 5
    assert ours.value > 0.85
    assert ours.value > usual.value + 0.1
    assert ours.low <= ours.value <= ours.high


def test_an_empty_folder_is_an_error(tmp_path: Path) -> None:
    with pytest.raises(SourceError, match="fewer than two"):
        bench_focus(tmp_path)


@pytest.mark.parametrize("inside", [True, False])
def test_only_the_wanted_part_is_blurred(inside: bool) -> None:
    rgb = skimage.data.astronaut()
    altered = blurred_part(rgb, (0.25, 0.25, 0.75, 0.75), 8.0, inside=inside)
    change = np.abs(altered.astype(int) - rgb).mean(axis=2)
    centre, corner = change[200:300, 200:300].mean(), change[:60, :60].mean()
    assert (centre > 3 > corner) if inside else (corner > 3 > centre)


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
        whole = variance_of_laplacian(np.ascontiguousarray(rgb[..., 1]))
        return variance_of_laplacian(np.ascontiguousarray(part[..., 1])) / whole

    strong, *_, by_eye = selective_blur(labels, focus=centre_detail)
    assert strong.count == 3
    assert strong.value > 0.95
    assert strong.low <= strong.value
    assert np.isnan(by_eye.value)
