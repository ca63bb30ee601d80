"""The portrait is the one that scikit-image ships (Eileen Collins, NASA, public domain)."""

from __future__ import annotations

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


def test_grey_pixels_are_refused() -> None:
    with pytest.raises(ValueError, match="uint8"):
        count_faces(np.zeros((64, 64), dtype=np.uint8))
