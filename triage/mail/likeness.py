"""How like a sentence is to those that refuse, keep a place, ask to delete, correct, and so on.

A sum of weights over its words, pairs of words and runs of three to five letters, whatever the
language, and over what it means (``triage.mail.meaning``); fitted for each kind on what volunteers
wrote in the batches of tests/data/mails, such sentences against all else
(``triage.bench.training.likeness``, docs/mail.md). The form of the features: Joulin, Grave,
Bojanowski & Mikolov (2017), Bag of Tricks for Efficient Text Classification,
https://doi.org/10.18653/v1/e17-2068.
"""

from __future__ import annotations

import re
import zlib
from functools import cache, lru_cache
from importlib import resources
from itertools import pairwise
from typing import Literal, NamedTuple, get_args

import numpy as np
from numpy.typing import NDArray

from triage.mail.meaning import meanings, products_on

Kind = Literal["refusal", "grant", "another", "several", "private", "delete", "correcting"]
KINDS: tuple[Kind, ...] = get_args(Kind)
BUCKETS = 1 << 15  # features are told apart by as many sums; two that share one are rare enough
FOLDS = 6  # of the batches, by their number: weights without each are kept beside those of all
FILE = ("triage.mail", "likeness.npz")
LEAST_WORDS = 3  # of a sentence; a shorter one is a greeting or a caption
# Chosen by what is shown in vain of plain mails that the weights had not seen, by hands that knew
# no rules (`python -m triage.bench.training.likeness`, docs/mail.md): beside a grant one in ten, of
# the others one to three in a hundred, of several animals, which only count beside a second photo,
# one in fifteen.
ALIKE: dict[Kind, float] = {"refusal": -0.18, "grant": -0.15, "another": 0.3, "several": -0.09}
ALIKE |= {"private": 0.28, "delete": 0.1, "correcting": 0.21}
LETTERS = (3, 4, 5)
READ = 1000  # characters of a sentence


def is_like(sentence: str, kind: Kind, *, without: int | None = None) -> bool:
    """Whether a sentence may be of a kind, however it is put. Meant to find too many.

    ``without`` names a fold of the batches: by the weights that were fitted without it.

    >>> is_like("I would be mortified to come across them anywhere.", "refusal")
    True
    >>> is_like("It sat on a reed at the edge of the water.", "refusal")
    False
    """
    return likeness(sentence, kind, without=without) > ALIKE[kind]


def likeness(sentence: str, kind: Kind, *, without: int | None = None) -> float:
    """How much a sentence is like those of a kind.

    Parameters
    ----------
    without : int, optional
        A fold of the batches in [0, FOLDS): by the weights that were fitted without it.

    Returns
    -------
    float
        About 1 like the kind, about -1 like other sentences; -1 below LEAST_WORDS words.
    """
    if len(sentence.split()) < LEAST_WORDS:
        return -1.0
    found, row = features(sentence), KINDS.index(kind)
    return sum_of_weights(*FILE, row, found, _products(sentence), without)


def sum_of_weights(
    package: str,
    name: str,
    kind: int,
    found: NDArray[np.int64],
    products: NDArray[np.float32],
    without: int | None,
) -> float:
    """The sum of the weights of what was found and meant, by the ``kind``-th fit of a file.

    Parameters
    ----------
    package, name : str
        Where the file lies: for each kind a row fitted on all batches and one without each fold.
    found : array of int, shape (n,)
        Buckets, as the fit counted them.
    products : array, shape (m,)
        What is meant, on the axes of the file (``triage.mail.meaning.products_on``).
    without : int or None
        A fold of the batches in [0, FOLDS): by the weights that were fitted without it.
    """
    fit = fitted_weights(package, name)
    row = kind * (FOLDS + 1) + (0 if without is None else without + 1)
    words = fit.weights[row, found].sum() / np.sqrt(max(1, len(found)))
    return float(words + fit.meant[row] @ products + fit.bias[row])


@lru_cache(maxsize=4096)  # a sentence is asked of several kinds
def _products(sentence: str) -> NDArray[np.float32]:
    (found,) = products_on(meanings([sentence]), fitted_weights(*FILE).axes)
    return np.asarray(found)


@lru_cache(maxsize=4096)  # a sentence is asked of several kinds
def features(sentence: str) -> NDArray[np.int64]:
    """The buckets of a sentence's words, pairs of words and runs of letters, each once.

    >>> features("No!").tolist() == features("no").tolist()
    True
    """
    words = [re.sub(r"\d+", "0", one) for one in re.findall(r"[^\W_]+", sentence[:READ].casefold())]
    said = {f"word {one}" for one in words}
    said.update(f"pair {one} {other}" for one, other in pairwise(words))
    for word in words:
        bounded = f"^{word}$"
        for length in LETTERS:
            said.update(bounded[at : at + length] for at in range(len(bounded) - length + 1))
    return np.array(sorted({zlib.crc32(one.encode()) % BUCKETS for one in said}), dtype=np.int64)


class Fitted(NamedTuple):
    """What was fitted, in rows: weights of buckets, of what is meant on the axes, and biases."""

    weights: NDArray[np.float32]
    meant: NDArray[np.float32]
    bias: NDArray[np.float32]
    axes: NDArray[np.float32]


@cache
def fitted_weights(package: str, name: str) -> Fitted:
    """What a file holds."""
    file = resources.files(package) / name
    with file.open("rb") as opened, np.load(opened, allow_pickle=False) as held:
        weights, meant = (
            held[one].astype(np.float32) * held[f"{one} scale"].astype(np.float32)[:, None]
            for one in ("weights", "meant")
        )
        return Fitted(weights, meant, *(held[one].astype(np.float32) for one in ("bias", "axes")))
