"""Aligned pictures: agreement, changes and what moved, on pictures whose truth is drawn here."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from triage.analysis.overlap import compare_pixels

IDENTITY = np.array([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])


def scene(seed: int, height: int = 384, width: int = 512) -> np.ndarray:
    """Fine and coarse texture everywhere."""
    drawn = np.random.default_rng(seed)
    grey = np.zeros((height, width))
    for cells in (6, 12, 24, 48):
        coarse = drawn.normal(0, 1, (cells, cells))
        grey += cv2.resize(coarse, (width, height), interpolation=cv2.INTER_CUBIC)
    return np.clip(128 + 25 * grey, 10, 245).astype(np.uint8)


def test_a_picture_agrees_with_itself():
    found = compare_pixels(scene(1), scene(1), IDENTITY)
    assert (found.agreement, found.difference, found.changed, found.moved) == (1, 0, 0, False)
    assert (found.cover_first, found.cover_second) == (1, 1)


@pytest.mark.parametrize(
    "tone",
    [
        lambda grey: grey * 0.7 + 10,
        lambda grey: 255 * (grey / 255) ** 1.6,
        lambda grey: grey + np.random.default_rng(1).normal(0, 12, grey.shape),
    ],
    ids=["darker", "gamma", "noise"],
)
def test_tone_and_noise_change_nothing(tone):
    other = np.clip(tone(scene(2).astype(float)), 0, 255).astype(np.uint8)
    found = compare_pixels(scene(2), other, IDENTITY)
    assert found.agreement > 0.99
    assert found.changed == 0


def test_the_negative_does_not_agree():
    assert compare_pixels(scene(3), 255 - scene(3), IDENTITY).agreement == 0


def test_half_of_a_picture_changed_is_half_of_the_agreement():
    other = scene(5)
    other[:, :256] = scene(4)[:, :256]
    assert compare_pixels(scene(4), other, IDENTITY).agreement == pytest.approx(0.5, abs=0.1)


def test_a_changed_patch_is_measured_by_its_area():
    other = scene(6)
    other[100:196, 100:228] = scene(7)[100:196, 100:228]  # one sixteenth
    found = compare_pixels(scene(6), other, IDENTITY)
    assert 0.02 < found.changed < 1 / 16


def test_words_laid_over_have_not_moved():
    other = scene(6)
    cv2.putText(other, "at the pond", (60, 180), cv2.FONT_HERSHEY_SIMPLEX, 2, (250,), 8)
    found = compare_pixels(scene(6), other, IDENTITY)
    assert 0.003 < found.changed < 0.12
    assert not found.moved


def test_a_patch_found_elsewhere_has_moved():
    thing = np.full((50, 90), 235, np.uint8)
    cv2.putText(thing, "OX", (5, 40), cv2.FONT_HERSHEY_SIMPLEX, 1.5, (15,), 6)
    one, two = scene(8), scene(8)
    one[100:150, 100:190] = thing
    two[130:180, 160:250] = thing
    assert compare_pixels(one, two, IDENTITY).moved
    assert not compare_pixels(one, one, IDENTITY).moved


def test_a_bar_over_a_picture_is_no_change_of_the_scene():
    other = scene(9)
    other[330:] = 255
    cv2.putText(other, "what is it?", (20, 370), cv2.FONT_HERSHEY_SIMPLEX, 1, (30,), 2)
    assert compare_pixels(scene(9), other, IDENTITY).changed < 0.012


def test_covers_are_the_shares_of_the_overlap():
    shifted = np.array([[1.0, 0.0, 128.0], [0.0, 1.0, 0.0]])
    found = compare_pixels(scene(1), scene(1), shifted)
    assert found.cover_first == pytest.approx(0.75, abs=0.01)
    assert found.cover_second == pytest.approx(0.75, abs=0.01)


def test_a_flat_picture_has_nothing_to_agree_on():
    flat = np.full((60, 80), 90, np.uint8)
    assert compare_pixels(flat, flat, IDENTITY).agreement == 0


def test_pictures_without_overlap_do_not_agree():
    away = np.array([[1.0, 0.0, 9999.0], [0.0, 1.0, 0.0]])
    found = compare_pixels(scene(1), scene(1), away)
    assert (found.agreement, found.difference, found.cover_first) == (0, 255, 0)


def test_a_matrix_of_other_shape_is_refused():
    with pytest.raises(ValueError, match="2 x 3"):
        compare_pixels(scene(1), scene(1), np.eye(3))
