"""Turn the feature vector of one photo into probabilities: view, suborder, odonate, pair, kind.

A head is one linear layer on the feature vector, followed by a softmax (view) or a logistic
function (the others). The shipped heads were fitted on predictions for photos that the networks
had not seen, so their probabilities are calibrated; a survey's corrections can refit them
(``triage.analysis.refitting``).
"""

from __future__ import annotations

import io
import zipfile
from dataclasses import dataclass, field
from functools import cache
from importlib import resources
from typing import Literal, get_args

import numpy as np
from numpy.typing import NDArray

from triage.analysis.networks import ALIKE, ANSWERS, CLASS_SCORES, EMBEDDED, OWN_SCORES

View = Literal["dorsal", "lateral", "anterior", "oblique", "other"]
VIEWS: tuple[View, ...] = get_args(View)
KINDS = ("adult", "other insect", "hand", "page", "no insect", "exuvia")
OWN = CLASS_SCORES  # first score of the insect network, of the whole photo; then of the close look
WHOLE = OWN + 2 * OWN_SCORES  # first answer on the whole photo
CLOSE = WHOLE + ANSWERS  # first answer on the close look
ALIKE_FROM = CLOSE + ANSWERS + 2 * EMBEDDED  # what one animal is known again by, of the close look
HAND = ALIKE_FROM + ALIKE  # log odds that a hand is seen
SHAPE_FROM = HAND + 1  # what the shape of the boxes says of the view
SHAPES = 8
FEATURES = SHAPE_FROM + SHAPES
TYPICAL_CLASSES = (9.89, 9.19, -0.3, -2.95, 0.88, -6.0)  # means over the labelled adults: of the
TYPICAL_HAND = -5.27  # class network's scores, and of the log odds of a hand
SURE_ODONATE, SURE_SUBORDER = 3.0, 1.0  # log odds at which nobody asks the class network; chosen
# on held-out photos, none of which gets another answer from 2.5 on (docs/figures/vision.md)
Floats = NDArray[np.float64]
Box = tuple[float, float, float, float]
Outline = tuple[tuple[float, float], ...]  # the body's outermost points: left, top, right, bottom


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Heads:
    """Linear layers on the feature vector: weights (rows x features) and biases (rows).

    ``view`` has one row for each of ``VIEWS``, ``kind`` one for each of ``KINDS``. The others have
    one row whose logistic value is a probability: of Anisoptera, of an adult odonate, of a pair.
    ``box`` has one row for each of x0, y0, x1, y1 of the insect's box, whose value is how far to
    move that side, in widths or heights
    of the box; no side is moved until a survey has corrected boxes. ``version`` names the network
    whose features the heads are for and, after a blank, the fit.
    """

    view: Floats
    view_bias: Floats
    suborder: Floats
    suborder_bias: Floats
    odonate: Floats
    odonate_bias: Floats
    pair: Floats
    pair_bias: Floats
    kind: Floats
    kind_bias: Floats
    box: Floats = field(default_factory=lambda: np.zeros((4, FEATURES)))
    box_bias: Floats = field(default_factory=lambda: np.zeros(4))
    version: str

    def fits(self, other: Heads) -> bool:
        """Whether both are for the features of one network."""
        return self.version.partition(" ")[0] == other.version.partition(" ")[0]

    def to_bytes(self) -> bytes:
        """The heads as an NPZ file; ``from_bytes`` reads it back. Equal heads give equal bytes."""
        file = io.BytesIO()
        held = {name: getattr(self, name) for name in _SHAPES}
        np.savez_compressed(file, version=np.array(self.version), **held)
        return file.getvalue()

    @classmethod
    def from_bytes(cls, data: bytes) -> Heads:
        """Read heads written by ``to_bytes``.

        Raises
        ------
        ValueError
            If the bytes are no such file, or its heads do not fit this version's features.
        """
        try:
            with np.load(io.BytesIO(data), allow_pickle=False) as file:
                there = [name for name in _SHAPES if name in file or name not in _ADDED]
                held = {name: _as_long(np.asarray(file[name], np.float64)) for name in there}
                version = str(file["version"])
        except (KeyError, OSError, ValueError, EOFError, zipfile.BadZipFile) as problem:
            raise ValueError(f"no heads in this file: {problem}") from problem
        for name, given in held.items():
            if given.shape != _SHAPES[name] or not np.isfinite(given).all():
                raise ValueError(
                    f"head {name} has shape {given.shape}, not {_SHAPES[name]}, or gaps"
                )
        return cls(version=version, **held)


_SHAPES: dict[str, tuple[int, ...]] = {
    "view": (len(VIEWS), FEATURES),
    "view_bias": (len(VIEWS),),
    "suborder": (1, FEATURES),
    "suborder_bias": (1,),
    "odonate": (1, FEATURES),
    "odonate_bias": (1,),
    "pair": (1, FEATURES),
    "pair_bias": (1,),
    "kind": (len(KINDS), FEATURES),
    "kind_bias": (len(KINDS),),
    "box": (4, FEATURES),
    "box_bias": (4,),
}
_ADDED = ("box", "box_bias")  # later than the others: heads kept before move no side


def _as_long(head: Floats) -> Floats:
    """A head kept before hands or shapes were told, which weighs nothing on them."""
    if head.ndim == 2 and head.shape[1] in (HAND, SHAPE_FROM):
        return np.pad(head, ((0, 0), (0, FEATURES - head.shape[1])))
    return head


@cache
def shipped_heads() -> Heads:
    """The heads that come with the program, read once per process."""
    file = resources.files("triage.analysis.models") / "heads.npz"
    return Heads.from_bytes(file.read_bytes())


def stored_features(kept: bytes) -> Floats:
    """The feature vector from the bytes kept with a photo.

    Raises
    ------
    ValueError
        If the bytes are not of this version's features.
    """
    features = np.frombuffer(kept, dtype="<f2").astype(np.float64)
    if features.shape != (FEATURES,):
        raise ValueError(f"kept features have {features.size} numbers, not {FEATURES}")
    return features


def view_logits(features: Floats, heads: Heads) -> Floats:
    """Logits of ``VIEWS``, float (..., 5)."""
    return np.asarray(features @ heads.view.T + heads.view_bias, dtype=np.float64)


def view_probabilities(features: Floats, heads: Heads) -> Floats:
    """Probability of each of ``VIEWS``, float (..., 5) in [0, 1], summing to 1."""
    return _shares(view_logits(features, heads))


def kind_probabilities(features: Floats, heads: Heads) -> Floats:
    """Probability of each of ``KINDS``, float (..., 6) in [0, 1], summing to 1."""
    return _shares(features @ heads.kind.T + heads.kind_bias)


def alike_of(features: Floats) -> Floats:
    """The part of the features by which one animal is known again, float (..., 48)."""
    return features[..., ALIKE_FROM:HAND]


def anisoptera_probability(features: Floats, heads: Heads) -> Floats:
    """Probability of Anisoptera (the rest is Zygoptera), float (...) in [0, 1]."""
    return _logistic((features @ heads.suborder.T + heads.suborder_bias)[..., 0])


def odonate_probability(features: Floats, heads: Heads) -> Floats:
    """Probability that the photo shows an adult odonate, float (...) in [0, 1]."""
    return _logistic((features @ heads.odonate.T + heads.odonate_bias)[..., 0])


def pair_probability(features: Floats, heads: Heads) -> Floats:
    """Probability that what is seen is a mating wheel or tandem, float (...) in [0, 1]."""
    return _logistic((features @ heads.pair.T + heads.pair_bias)[..., 0])


def without_classes(features: Floats) -> Floats:
    """The features of one photo as if the class network had said what it mostly says of adults."""
    typical = features.copy()
    typical[:CLASS_SCORES], typical[HAND] = TYPICAL_CLASSES, TYPICAL_HAND
    return typical


def is_sure(features: Floats, heads: Heads) -> bool:
    """Whether an adult odonate and its suborder are sure, so that no further network is asked."""
    odonate = (features @ heads.odonate.T + heads.odonate_bias)[0]
    suborder = (features @ heads.suborder.T + heads.suborder_bias)[0]
    return bool(odonate >= SURE_ODONATE and abs(suborder) >= SURE_SUBORDER)


def moved_box(box: Box, features: Floats, heads: Heads) -> Box:
    """The box with its sides moved as the head says, not cut to the photo.

    Parameters
    ----------
    box : tuple of four floats
        x0, y0, x1, y1 as fractions of the photo.
    features : float array, 363
    heads : Heads
    """
    shares = features @ heads.box.T + heads.box_bias
    width, height = box[2] - box[0], box[3] - box[1]
    sides = np.array(box) + shares * np.array([width, height, width, height])
    return float(sides[0]), float(sides[1]), float(sides[2]), float(sides[3])


def _shares(logits: Floats) -> Floats:
    shares = np.exp(logits - logits.max(axis=-1, keepdims=True))
    return np.asarray(shares / shares.sum(axis=-1, keepdims=True), dtype=np.float64)


def _logistic(x: Floats) -> Floats:
    return np.asarray(0.5 * (1 + np.tanh(np.asarray(x) / 2)), dtype=np.float64)
