"""Monotone in known blur on photographs that scikit-image ships; noise, scale and mirror laws."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
import skimage.data

from triage.analysis import sharpness


def photograph(name: str) -> np.ndarray:
    rgb = getattr(skimage.data, name)()
    grey = rgb if rgb.ndim == 2 else cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY)
    return grey.astype(np.float32)


def blurred(grey: np.ndarray, sigma: float) -> np.ndarray:
    return cv2.GaussianBlur(grey, (0, 0), sigma) if sigma else grey


@pytest.mark.parametrize("level", [0, 117, 255])
def test_a_flat_picture_has_no_focus(level: int) -> None:
    assert sharpness.focus(np.full((64, 64), level)) == 0.0


@pytest.mark.parametrize("shape", [(1, 1), (8, 8), (15, 400)])
def test_too_few_pixels_have_no_focus(shape: tuple[int, int]) -> None:
    assert sharpness.focus(np.random.default_rng(0).integers(0, 255, shape)) == 0.0


def test_nonsense_is_refused() -> None:
    with pytest.raises(ValueError, match="two dimensions"):
        sharpness.focus(np.zeros((32, 32, 3)))
    with pytest.raises(ValueError, match="finite"):
        sharpness.focus(np.full((32, 32), np.nan))


@pytest.mark.parametrize("name", ["astronaut", "camera", "chelsea", "coffee", "rocket"])
def test_more_blur_is_never_more_focus(name: str) -> None:
    grey = photograph(name)
    scores = [sharpness.focus(blurred(grey, sigma)) for sigma in (0, 0.7, 1, 1.5, 2, 3, 4, 6)]
    assert scores == sorted(scores, reverse=True)
    assert scores[0] > scores[-1] + 0.25


@pytest.mark.parametrize("name", ["astronaut", "camera", "chelsea"])
def test_a_mirror_changes_nothing(name: str) -> None:
    grey = photograph(name)
    for turned in (grey[:, ::-1], grey[::-1], grey.T):
        assert sharpness.focus(turned) == pytest.approx(sharpness.focus(grey), abs=0.01)


@pytest.mark.parametrize("name", ["astronaut", "camera", "chelsea", "coffee"])
def test_noise_does_not_make_a_blurred_picture_sharp(name: str) -> None:
    soft = blurred(photograph(name), 2.5)
    noisy = soft + np.random.default_rng(3).normal(0, 3, soft.shape).astype(np.float32)
    assert abs(sharpness.focus(noisy) - sharpness.focus(soft)) < 0.08


@pytest.mark.parametrize("name", ["astronaut", "camera", "coffee"])
def test_brightness_and_contrast_hardly_count(name: str) -> None:
    grey = photograph(name)
    assert sharpness.focus(grey * 0.6 + 40) == pytest.approx(sharpness.focus(grey), abs=0.03)
