"""The portrait is the one that scikit-image ships (Eileen Collins, NASA, public domain)."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
import skimage.data

from triage.analysis.faces import count_faces


def test_a_portrait_has_a_face() -> None:
    assert count_faces(skimage.data.astronaut()) >= 1


@pytest.mark.parametrize("name", ["coffee", "rocket", "retina"])
def test_a_cup_a_rocket_and_a_retina_have_none(name: str) -> None:
    assert count_faces(getattr(skimage.data, name)()) == 0


@pytest.mark.parametrize("shape", [(1, 1, 3), (20, 400, 3), (300, 300, 3)])
def test_nothing_to_see_has_none(shape: tuple[int, int, int]) -> None:
    assert count_faces(np.full(shape, 128, dtype=np.uint8)) == 0


def test_a_face_is_counted_once_and_two_are_two() -> None:
    """The portrait is seen at both sizes that are looked at."""
    portrait = skimage.data.astronaut()
    assert count_faces(portrait) == 1
    assert count_faces(np.hstack([portrait, portrait])) == 2


def test_grey_pixels_are_refused() -> None:
    with pytest.raises(ValueError, match="uint8"):
        count_faces(np.zeros((64, 64), dtype=np.uint8))


@pytest.mark.parametrize(("side", "least"), [(400, 95), (256, 95), (128, 95), (64, 88)])
def test_most_frontal_faces_are_found_and_hardly_anything_else_is(side: int, least: int) -> None:
    """100 faces of Labeled Faces in the Wild and 100 pieces without one, as scikit-image ships
    them (25 pixels wide), enlarged and set into a photo: docs/figures/vision.md has the rates."""
    found = [count_faces(_in_a_photo(patch, side)) > 0 for patch in skimage.data.lfw_subset()]
    assert sum(found[:100]) >= least
    assert sum(found[100:]) <= 2


def _in_a_photo(patch: np.ndarray, side: int) -> np.ndarray:
    grey = np.round(np.clip(patch, 0, 1) * 255).astype(np.uint8)
    photo = np.full((512, 512, 3), 110, np.uint8)
    face = cv2.resize(grey, (side, side), interpolation=cv2.INTER_CUBIC)
    inner = slice(256 - side // 2, 256 + side // 2)
    photo[inner, inner] = face[..., None]
    return photo
