"""Colours of the insect: alike under light and noise, unlike between insects."""

from __future__ import annotations

import numpy as np
import pytest

from triage.analysis.colours import colour_signature, likeness

BOX = (0.3, 0.3, 0.7, 0.7)


def insect(colour: tuple[int, int, int], *, shade: float = 1.0, seed: int = 0) -> np.ndarray:
    rng = np.random.default_rng(seed)
    image = rng.normal((70, 110, 60), 12, (120, 160, 3))
    image[36:84, 48:112] = rng.normal(colour, 12, (48, 64, 3))
    return np.clip(image * shade, 0, 255).astype(np.uint8)


def test_a_signature_is_a_share_of_pixels():
    signature = colour_signature(insect((40, 60, 200)), BOX)
    assert sum(signature) == pytest.approx(1.0, abs=1e-3)
    assert min(signature) >= 0.0


def test_the_same_insect_is_like_itself_in_other_light():
    first = colour_signature(insect((40, 60, 200)), BOX)
    second = colour_signature(insect((40, 60, 200), shade=0.85, seed=1), BOX)
    other = colour_signature(insect((200, 40, 40), seed=2), BOX)
    assert likeness(first, second) > 0.6
    assert likeness(first, other) < 0.2


def test_likeness_is_symmetric_and_1_with_itself():
    first = colour_signature(insect((40, 60, 200)), BOX)
    other = colour_signature(insect((90, 90, 200), seed=5), BOX)
    assert likeness(first, other) == likeness(other, first)
    assert likeness(first, first) == pytest.approx(1.0, abs=1e-3)


def test_a_box_without_area_gives_a_flat_signature():
    signature = colour_signature(insect((40, 60, 200)), (0.5, 0.5, 0.5, 0.5))
    assert len(set(signature)) == 1


def test_a_missing_signature_says_nothing():
    assert likeness((), (1.0,)) == 0.5
