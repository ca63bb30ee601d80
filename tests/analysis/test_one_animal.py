"""Likeness of two photos' insects: laws, and changed copies of photos that scikit-image ships."""

from __future__ import annotations

import numpy as np
import pytest
import skimage.data
from hypothesis import given
from hypothesis import strategies as st

from triage.analysis import images, one_animal, subject, view
from triage.analysis.colours import colour_signature
from triage.analysis.colours import likeness as likeness_of_colours


def features(looks: np.ndarray) -> bytes:
    kept = np.zeros(view.FEATURES, np.float16)
    kept[view.ALIKE_FROM : view.HAND] = looks
    return kept.tobytes()


looks = st.integers(0, 2**32 - 1).map(
    lambda seed: np.random.default_rng(seed).normal(size=view.HAND - view.ALIKE_FROM)
)


@given(looks, looks)
def test_likeness_is_a_chance_and_the_same_whichever_is_named_first(one, other):
    first, second = features(one), features(other)
    found = one_animal.likeness(first, second)
    assert 0 <= found <= 1
    assert found == one_animal.likeness(second, first)
    assert found <= one_animal.likeness(first, first) + 1e-9


@given(looks, looks)
def test_less_is_asked_of_two_views_than_of_one(one, other):
    first, second = features(one), features(other)
    same, apart = (one_animal.likeness(first, second, same_view=same) for same in (True, False))
    assert one_animal.likeness(first, first) > 0.9
    looks_apart = float(np.dot(one, other)) <= 0.5 * np.linalg.norm(one) * np.linalg.norm(other)
    assert not looks_apart or apart >= same


def test_without_features_of_this_version_the_colours_decide():
    red, blue = (0.9, 0.1), (0.2, 0.8)
    for kept in (b"", np.zeros(284, np.float16).tobytes()):
        found = one_animal.likeness(kept, features(np.ones(48)), red, blue)
        assert found == likeness_of_colours(red, blue)
    assert one_animal.likeness(b"", b"") == 0.5


def seen(rgb: np.ndarray) -> tuple[bytes, tuple[float, ...]]:
    found = subject.look_at(np.ascontiguousarray(rgb))
    return found.features, colour_signature(images.shrink(rgb, 512), found.box)


@pytest.fixture(scope="module")
def others() -> list[tuple[bytes, tuple[float, ...]]]:
    pictures = (skimage.data.coffee(), skimage.data.astronaut(), skimage.data.rocket())
    return [seen(picture) for picture in pictures]


@pytest.mark.parametrize("changed", ["mirrored", "darker", "cropped"])
def test_a_changed_copy_is_more_like_its_photo_than_other_photos_are(others, changed):
    cat = skimage.data.chelsea()
    copies = {
        "mirrored": cat[:, ::-1],
        "darker": (cat * 0.7).astype(np.uint8),
        "cropped": cat[20:280, 30:420],
    }
    first, first_colours = seen(cat)
    copy, copy_colours = seen(copies[changed])
    alike = one_animal.likeness(first, copy, first_colours, copy_colours)
    assert alike > max(one_animal.likeness(first, f, first_colours, c) for f, c in others)
