"""Features and pixels decide: copies with their words, strangers and moved scenes apart."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from triage.analysis import keypoints


def scene(seed: int, height: int = 360, width: int = 480) -> np.ndarray:
    """Stems, leaves and spots before a soft background."""
    random = np.random.default_rng(seed)
    soft = random.uniform(60, 190, (5, 7)).astype(np.float32)
    grey = cv2.resize(soft, (width, height), interpolation=cv2.INTER_CUBIC)
    picture = np.clip(grey, 0, 255).astype(np.uint8)
    for _ in range(60):
        x, y = int(random.integers(0, width)), int(random.integers(0, height))
        axes = (int(random.integers(4, 60)), int(random.integers(3, 14)))
        shade = int(random.integers(0, 256))
        cv2.ellipse(picture, (x, y), axes, int(random.integers(0, 180)), 0, 360, (shade,), -1)
    return picture


def warped(grey: np.ndarray, degrees: float) -> np.ndarray:
    height, width = grey.shape
    matrix = cv2.getRotationMatrix2D((width / 2, height / 2), degrees, 1)
    return cv2.warpAffine(grey, matrix, (width, height))


def relation(first: np.ndarray, second: np.ndarray) -> keypoints.Relation:
    found = [keypoints.find_features(np.ascontiguousarray(each)) for each in (first, second)]
    return keypoints.relate(*found)


CHANGES = {
    "": lambda grey: grey.copy(),
    "turned 90": lambda grey: np.rot90(grey, -1),
    "turned 180": lambda grey: np.rot90(grey, 2),
    "turned 270": lambda grey: np.rot90(grey, 1),
    "mirrored": lambda grey: grey[:, ::-1],
    "mirrored, turned 180": lambda grey: grey[::-1],
    "cropped to 71%": lambda grey: grey[20:323, 30:435],
    "rotated by 5 degrees": lambda grey: warped(grey, -5)[26:334, 34:446],
    "bordered, the picture fills 70%": lambda grey: cv2.copyMakeBorder(
        grey, 40, 40, 40, 40, cv2.BORDER_CONSTANT, value=255
    ),
}


@pytest.mark.parametrize("words", CHANGES)
def test_a_copy_is_known_with_the_words_for_its_change(words):
    original = scene(1)
    found = relation(original, CHANGES[words](original))
    assert found.is_copy
    assert keypoints.evidence_words(found).startswith(words)
    assert bool(keypoints.evidence_words(found)) == bool(words)


def test_turn_and_scale_are_those_that_were_made():
    original = scene(2)
    found = relation(original, warped(original, -7))
    assert found.turn == pytest.approx(7, abs=0.3)
    half = cv2.resize(warped(original, 7), None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
    found = relation(original, half)
    assert found.turn == pytest.approx(353, abs=0.3)
    assert found.scale == pytest.approx(1.0, abs=0.01)  # both are brought to one working size


def test_strangers_are_no_copies():
    features = [keypoints.find_features(scene(seed)) for seed in range(10, 18)]
    joined = [
        (i, j)
        for i in range(8)
        for j in range(i)
        if keypoints.relate(features[i], features[j]).same_scene
    ]
    assert joined == []


def test_two_screens_of_one_program_with_other_pictures_are_no_copies():
    def screen(seed: int) -> np.ndarray:
        page = np.full((900, 500), 245, dtype=np.uint8)
        page[250:625] = cv2.resize(scene(seed), (500, 375))
        for line in (40, 80, 120, 160, 200, 680, 720, 760, 800, 840):
            font = cv2.FONT_HERSHEY_SIMPLEX
            cv2.putText(page, "the same words on each", (15, line), font, 0.9, (20,), 2)
        return page

    assert not relation(screen(20), screen(21)).is_copy


def with_thing(seed: int, x: int, y: int) -> np.ndarray:
    """A scene with one conspicuous thing at a place."""
    grey = scene(seed)
    cv2.rectangle(grey, (x, y), (x + 80, y + 60), (235,), -1)
    cv2.putText(grey, "OX", (x + 5, y + 48), cv2.FONT_HERSHEY_SIMPLEX, 1.5, (15,), 6)
    return grey


def test_a_thing_that_moved_makes_two_exposures_of_one_scene():
    found = relation(with_thing(3, 200, 150), with_thing(3, 230, 165))
    assert found.same_scene
    assert not found.is_copy


def test_the_two_views_of_a_stereo_camera_are_one_scene_and_two_exposures():
    """Left and right of the motorcycle scene of scikit-image (Scharstein et al. 2014)."""
    from skimage import data

    left, right, _ = data.stereo_motorcycle()
    found = relation(*(cv2.cvtColor(each, cv2.COLOR_RGB2GRAY) for each in (left, right)))
    assert found.same_scene
    assert not found.is_copy


def test_words_laid_over_leave_a_copy():
    marked = scene(3)
    cv2.putText(marked, "at the pond", (60, 180), cv2.FONT_HERSHEY_SIMPLEX, 1.5, (255,), 2)
    assert relation(scene(3), marked).is_copy


def test_the_same_pair_gets_the_same_answer_again():
    pair = scene(3), warped(scene(3), 4)
    assert relation(*pair) == relation(*pair)


@pytest.mark.parametrize("size", [(1, 1), (3, 500), (40, 60)])
def test_flat_and_tiny_pictures_have_no_relation(size):
    flat = np.full(size, 90, dtype=np.uint8)
    assert relation(flat, flat) == keypoints.NO_RELATION
    assert len(keypoints.find_descriptors(flat, count=50)) == 0


def test_features_are_at_most_as_many_as_asked():
    assert len(keypoints.find_descriptors(scene(4), count=50)) == 50


def test_other_arrays_are_refused():
    with pytest.raises(ValueError, match="uint8 array"):
        keypoints.find_features(np.zeros((5, 5, 3), dtype=np.uint8))
