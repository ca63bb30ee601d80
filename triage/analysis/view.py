"""The numbers the network gives for one insect in, view and suborder as probabilities out.

A head is one linear layer on the feature vector of a photo, followed by a softmax (view) or a
logistic function (suborder, odonate). Heads are small enough to be refitted on a survey's own
corrections; see ``refit_heads``.
"""

from __future__ import annotations

import io
from dataclasses import dataclass
from functools import cache
from importlib import resources

import numpy as np
from numpy.typing import NDArray

VIEWS = ("dorsal", "lateral", "anterior", "oblique", "other")
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Heads:
    """Linear layers on the feature vector: weights (rows x features) and biases (rows).

    ``view`` has one row for each of ``VIEWS``; ``suborder`` one row whose logistic value is the
    probability of Anisoptera; ``odonate`` one row whose logistic value is the probability that
    the photo shows an adult dragonfly or damselfly. ``version`` names the fit.
    """

    view: Floats
    view_bias: Floats
    suborder: Floats
    suborder_bias: Floats
    odonate: Floats
    odonate_bias: Floats
    version: str

    def to_bytes(self) -> bytes:
        """The heads as an NPZ file; ``from_bytes`` reads it back."""
        held = {name: getattr(self, name) for name in _ARRAYS}
        file = io.BytesIO()
        np.savez_compressed(file, version=np.array(self.version), **held)
        return file.getvalue()

    @classmethod
    def from_bytes(cls, data: bytes) -> Heads:
        """Read heads written by ``to_bytes``.

        Raises
        ------
        ValueError
            If the file is not such an NPZ file.
        """
        try:
            with np.load(io.BytesIO(data), allow_pickle=False) as file:
                held = {name: np.asarray(file[name], dtype=np.float64) for name in _ARRAYS}
                return cls(version=str(file["version"]), **held)
        except (KeyError, OSError, ValueError) as problem:
            raise ValueError(f"no heads in this file: {problem}") from problem


_ARRAYS = ("view", "view_bias", "suborder", "suborder_bias", "odonate", "odonate_bias")


@cache
def shipped_heads() -> Heads:
    """The heads that come with the program, read once per process."""
    file = resources.files("triage.analysis.models") / "heads.npz"
    return Heads.from_bytes(file.read_bytes())


def view_probabilities(features: Floats, heads: Heads) -> Floats:
    """Probability of each of ``VIEWS``, float (..., 5) in [0, 1], summing to 1."""
    logits = features @ heads.view.T + heads.view_bias
    shares = np.exp(logits - logits.max(axis=-1, keepdims=True))
    return np.asarray(shares / shares.sum(axis=-1, keepdims=True), dtype=np.float64)


def anisoptera_probability(features: Floats, heads: Heads) -> Floats:
    """Probability of Anisoptera (the rest is Zygoptera), float (...) in [0, 1]."""
    return _logistic((features @ heads.suborder.T + heads.suborder_bias)[..., 0])


def odonate_probability(features: Floats, heads: Heads) -> Floats:
    """Probability that the photo shows an adult odonate, float (...) in [0, 1]."""
    return _logistic((features @ heads.odonate.T + heads.odonate_bias)[..., 0])


def _logistic(x: Floats) -> Floats:
    return np.asarray(0.5 * (1 + np.tanh(np.asarray(x) / 2)), dtype=np.float64)
