"""Monotone in known blur on photographs that scikit-image ships; noise, scale and mirror laws.

The blur effect of Crete et al. (2007, doi:10.1117/12.702790), as scikit-image computes it, and
scipy's filters are the references from outside.
"""

from __future__ import annotations

import cv2
import numpy as np
import pytest
import scipy.ndimage
import scipy.special
import scipy.stats
import skimage.data
import skimage.measure

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


@pytest.mark.parametrize("name", ["astronaut", "camera", "chelsea", "coffee", "rocket"])
def test_the_published_blur_effect_ranks_blurs_the_same_way(name: str) -> None:
    """scikit-image's `blur_effect`; both rise and fall together on one photograph."""
    series = [blurred(photograph(name), sigma) for sigma in (0.5, 0.8, 1.2, 1.8, 2.6, 3.6, 5)]
    theirs = [skimage.measure.blur_effect(grey) for grey in series]
    ours = [sharpness.focus(grey) for grey in series]
    assert scipy.stats.spearmanr(ours, theirs).statistic == pytest.approx(-1)


@pytest.mark.parametrize("name", ["astronaut", "camera", "chelsea", "coffee", "rocket"])
def test_half_the_size_is_sharper(name: str) -> None:
    """A blur of so many pixels is half as many in a picture of half the size."""
    soft = blurred(photograph(name), 3.0)
    half = cv2.resize(soft, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
    assert sharpness.focus(half) > sharpness.focus(soft) + 0.1


@pytest.mark.parametrize("sigma", [1.0, 4.0, 9.0])
def test_white_noise_has_the_level_it_was_made_with(sigma: float) -> None:
    noise = np.random.default_rng(5).normal(120, sigma, (400, 500)).astype(np.float32)
    assert sharpness.noise_level(noise) == pytest.approx(sigma, rel=0.03)


def test_noise_is_estimated_as_published() -> None:
    """Immerkaer 1996: the mean of the absolute response to one 3 by 3 mask, here by scipy."""
    grey = photograph("camera")[: sharpness.SAMPLED_ROWS - 1]
    mask = np.array([[1, -2, 1], [-2, 4, -2], [1, -2, 1]])
    response = np.abs(scipy.ndimage.convolve(grey, mask)[1:-1, 1:-1])
    expected = np.sqrt(np.pi / 2) * response.sum() / (6 * response.size)
    assert sharpness.noise_level(grey) == pytest.approx(expected, rel=1e-4)


@pytest.mark.parametrize("width", [4.0, 8.0])
@pytest.mark.parametrize("re_blur", [1.0, 2.0])
def test_an_edge_of_known_width_keeps_the_share_that_theory_says(
    width: float, re_blur: float
) -> None:
    """The slope of an edge blurred by s is a Gaussian. Blurred again by r its top is lower by
    s / sqrt(s^2 + r^2), its energy by the square of that; along a diagonal s is sqrt(2) wider.
    The difference of pixels two apart adds 1/3 to s^2, and the kernel ends at three sigmas."""
    columns = np.arange(250)[None, :] - 125.0  # so few that only the top is taken for an edge
    edge = 128 + 100 * scipy.special.erf(columns / (width * 2**0.5)) + np.zeros((250, 1))
    spare = np.empty(edge.size, np.float32), np.empty(edge.size, np.uint8)
    look = sharpness._look(edge.astype(np.float32), re_blur, 0.5, spare)
    steps = (1.0, 2**0.5, 2**0.5)  # nothing changes down the columns, so three directions are left
    for share, step in zip(look.shares, steps, strict=True):
        kernel = sharpness._gaussian(re_blur / step)  # in steps, each of which is 1 pixel across
        again = float(kernel @ (np.arange(len(kernel)) - len(kernel) // 2) ** 2)
        assert share == pytest.approx((width**2 + 1 / 3) / (width**2 + 1 / 3 + again), abs=0.005)


def insect_before_leaves(insect: float, leaves: float) -> np.ndarray:
    """A photograph whose middle third is blurred by one amount and the rest by another."""
    rgb = skimage.data.astronaut()
    mixed = cv2.GaussianBlur(rgb, (0, 0), leaves) if leaves else rgb.copy()
    middle = cv2.GaussianBlur(rgb, (0, 0), insect) if insect else rgb
    mixed[170:340, 170:340] = middle[170:340, 170:340]
    return mixed


def test_a_sharp_leaf_behind_a_blurred_insect_does_not_count() -> None:
    box = (0.35, 0.35, 0.65, 0.65)
    wanted = sharpness.focus_on(insect_before_leaves(0, 4), box, length_px=210)
    blurry = sharpness.focus_on(insect_before_leaves(4, 0), box, length_px=210)
    assert wanted > 0.8
    assert blurry < 0.3


def test_a_slender_body_is_measured_though_its_box_is_thin() -> None:
    rgb = skimage.data.astronaut()
    thin = (0.3, 0.40, 0.8, 0.42)
    assert sharpness.focus_on(rgb, thin, length_px=256) > 0.7


def test_a_large_insect_is_looked_at_as_if_it_were_smaller() -> None:
    """Blur counts against the size of the insect, not against the pixels of the camera."""
    rgb = skimage.data.astronaut()
    large = cv2.resize(rgb, None, fx=5, fy=5, interpolation=cv2.INTER_CUBIC)
    box = (0.1, 0.1, 0.6, 0.6)
    whole = sharpness.focus_on(large, box, length_px=1810)
    assert whole > 0.8
    assert sharpness.focus(cv2.cvtColor(large, cv2.COLOR_RGB2GRAY)) < 0.6


@pytest.mark.parametrize("fold", range(10))
def test_each_folds_network_tells_blur(fold: int) -> None:
    grey = photograph("coffee")
    sharp, soft = (sharpness.focus(blurred(grey, sigma), fold=fold) for sigma in (0, 2.5))
    assert sharp > soft + 0.3


@pytest.mark.parametrize("name", ["astronaut", "camera", "coffee"])
@pytest.mark.parametrize("sigma", [0.0, 1.5])
def test_rows_that_are_passed_over_change_little(name: str, sigma: float) -> None:
    """The more rows, the more are passed over; beside its mirror a picture has the same edges."""
    grey = blurred(photograph(name), sigma)
    taller = np.concatenate([grey, grey[::-1], grey, grey[::-1]])
    assert sharpness.focus(taller) == pytest.approx(sharpness.focus(grey), abs=0.04)


def test_a_sharp_stem_in_the_box_does_not_make_a_blurred_body_sharp() -> None:
    random = np.random.default_rng(5)
    scene = cv2.GaussianBlur(random.uniform(0, 255, (400, 400)).astype(np.float32), (0, 0), 1.0)
    scene = np.clip((scene - 128) * 3 + 128, 0, 255)
    body = np.zeros((400, 400), np.float32)
    cv2.line(body, (60, 60), (340, 340), 1.0, 40)
    body = cv2.GaussianBlur(body, (0, 0), 4)
    mixed = body * cv2.GaussianBlur(scene, (0, 0), 5) + (1 - body) * scene
    rgb = np.repeat(np.round(mixed).astype(np.uint8)[..., None], 3, axis=2)
    box, points = (0.12, 0.12, 0.88, 0.88), ((0.15, 0.15), (0.15, 0.15), (0.85, 0.85), (0.85, 0.85))
    everywhere = sharpness.focus_on(rgb, box, length_px=400)
    on_body = sharpness.focus_on(rgb, box, length_px=400, outline=points)
    assert on_body < everywhere


def test_an_outline_outside_the_picture_is_cut_to_it() -> None:
    rgb = np.random.default_rng(1).integers(0, 255, (80, 90, 3)).astype(np.uint8)
    points = ((-0.5, 0.5), (0.5, -0.5), (1.5, 0.5), (0.5, 1.5))
    assert 0 <= sharpness.focus_on(rgb, (0.0, 0.0, 1.0, 1.0), length_px=100, outline=points) <= 1
