"""Skin by its published range of colours, and hands told apart from what else has such colours."""

import numpy as np
import pytest
from skimage import data

from triage.analysis import hands, subject, view

NOTHING = np.log(hands.LEAST_SHARE)


def plain(*colour: int) -> np.ndarray:
    return np.full((96, 128, 3), colour, dtype=np.uint8)


@pytest.mark.parametrize(
    "colour", [(233, 190, 160), (198, 134, 66), (141, 85, 36), (224, 172, 105)]
)
def test_complexions_from_light_to_dark_are_skin(colour):
    """Colours of skin as they are commonly listed (from memory), against the range of 1999."""
    assert (hands.skin_of(plain(*colour)) > np.log(0.9)).all()


@pytest.mark.parametrize("colour", [(40, 90, 30), (20, 60, 160), (128, 128, 128), (250, 250, 250)])
def test_leaves_water_stone_and_paper_are_none(colour):
    assert hands.skin_of(plain(*colour)) == pytest.approx([NOTHING] * 3)


def test_a_patch_of_skin_counts_with_its_share_of_the_photo():
    half = plain(40, 90, 30)
    half[:, :64] = (224, 172, 105)
    assert np.exp(hands.skin_of(half)) - hands.LEAST_SHARE == pytest.approx([0.5] * 3, abs=0.04)


def test_rough_wood_of_the_same_colours_is_not_smooth():
    random = np.random.default_rng(3)
    rough = np.clip(plain(200, 150, 100) + random.normal(0, 25, (96, 128, 1)), 0, 255)
    every, smooth, largest = hands.skin_of(rough.astype(np.uint8))
    assert every > np.log(0.5) > smooth >= largest


@pytest.mark.parametrize("name", ["coffee", "chelsea", "rocket", "brick", "grass", "gravel"])
def test_photos_of_other_things_show_no_hand(name):
    picture = getattr(data, name)()
    rgb = picture if picture.ndim == 3 else np.repeat(picture[..., None], 3, axis=2)
    assert view.stored_features(subject.look_at(rgb).features)[view.HAND] < 0


def test_a_hand_is_told_before_what_it_holds_and_never_before_an_adult():
    heads = view.shipped_heads()
    features = np.zeros(view.FEATURES)
    odds = (heads.odonate @ features + heads.odonate_bias)[0]
    column = int(np.abs(heads.odonate[0]).argmax())
    features[view.HAND] = 1.0
    for wanted, kinds in ((-3.0, {"hand"}), (3.0, {"adult", "pair"})):
        features[column] = (wanted - odds) / heads.odonate[0, column]
        assert subject.kind_of(features, heads) in kinds
