"""Tell whether a hand is seen in a photo: the thousand classes of the class network, and skin.

A linear layer on the logits of the classes and on three shares of skin colour: of pixels in the
range of skin, of those that are smooth as well, and of the largest such patch. Few photos with
hands were there to learn from (docs/figures/vision.md).
"""

from __future__ import annotations

from functools import cache
from importlib import resources

import numpy as np

from triage.analysis import images
from triage.analysis.networks import Floats, Pixels

SIDE = 128  # pixels, longer side of the copy that is looked at for skin
CR, CB = (133, 173), (77, 127)  # skin in YCbCr, of all complexions (Chai and Ngan 1999)
SATURATION, LEAST_VALUE, HUES = (31, 200), 61, (17, 170)  # in HSV of 8 bits: no wood, no sand
SMOOTH = 12  # grey levels of the Laplacian, below
SKIN = 3  # numbers of `skin_of`
LEAST_SHARE = 0.01  # added to a share before its logarithm is taken


def hand_score(classes: Floats, rgb: Pixels, *, fold: int | None = None) -> float:
    """Log odds that a hand is seen.

    Parameters
    ----------
    classes : float array, 1,000
        Logits of the class network for the whole photo.
    rgb : uint8 array, height x width x 3
        The photo at any size.
    fold : int, optional
        Weights fitted without this fold of the training photos, to measure on these.
    """
    weights = _weights()[0 if fold is None else fold + 1]
    return float(weights[:-1] @ np.concatenate([classes, skin_of(rgb)]) + weights[-1])


def skin_of(rgb: Pixels) -> Floats:
    """Logarithms of the three shares of skin.

    References
    ----------
    Chai, D., Ngan, K. N. (1999). Face segmentation using skin-color map in videophone
    applications. IEEE Transactions on Circuits and Systems for Video Technology 9, 551-564.
    doi:10.1109/76.767122
    """
    import cv2

    small = images.shrink(rgb, SIDE)
    _, cr, cb = np.moveaxis(cv2.cvtColor(small, cv2.COLOR_RGB2YCrCb), 2, 0)
    hue, saturation, value = np.moveaxis(cv2.cvtColor(small, cv2.COLOR_RGB2HSV), 2, 0)
    skin = (cr >= CR[0]) & (cr <= CR[1]) & (cb >= CB[0]) & (cb <= CB[1])
    skin &= (saturation >= SATURATION[0]) & (saturation <= SATURATION[1]) & (value >= LEAST_VALUE)
    skin &= (hue <= HUES[0]) | (hue >= HUES[1])
    grey = images.grey_of(small).astype(np.float32)
    smooth = skin & (np.abs(cv2.Laplacian(grey, cv2.CV_32F)) < SMOOTH)
    opened = cv2.morphologyEx(smooth.astype(np.uint8), cv2.MORPH_OPEN, np.ones((3, 3), np.uint8))
    patches = cv2.connectedComponentsWithStats(opened)[2][1:, cv2.CC_STAT_AREA]
    largest = patches.max(initial=0) / opened.size
    return np.log(np.array([skin.mean(), smooth.mean(), largest]) + LEAST_SHARE)


@cache
def _weights() -> Floats:
    """Of the classes, of skin, and the bias: a row fitted on all photos, one without each fold."""
    file = resources.files("triage.analysis.models") / "hands.npz"
    with file.open("rb") as opened, np.load(opened, allow_pickle=False) as held:
        return np.asarray(held["weights"], dtype=np.float64)
