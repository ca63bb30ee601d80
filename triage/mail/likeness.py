"""How like a sentence is to those that refuse, keep a place, ask to delete, correct, and so on.

A sum of weights over its words, pairs of words and runs of three to five letters, whatever the
language; fitted for each kind on what volunteers wrote in the batches of tests/data/mails, such
sentences against all else (``triage.bench.training.likeness``, docs/mail.md). The form of the
features: Joulin, Grave, Bojanowski & Mikolov (2017), Bag of Tricks for Efficient Text
Classification, https://doi.org/10.18653/v1/e17-2068.
"""

from __future__ import annotations

import re
import zlib
from functools import cache, lru_cache
from importlib import resources
from itertools import pairwise
from typing import Literal, get_args

import numpy as np
from numpy.typing import NDArray

Kind = Literal["refusal", "grant", "another", "several", "private", "delete", "correcting"]
KINDS: tuple[Kind, ...] = get_args(Kind)
BUCKETS = 1 << 15  # features are told apart by as many sums; two that share one are rare enough
FOLDS = 6  # of the batches, by their number: weights without each are kept beside those of all
LEAST_WORDS = 3  # of a sentence; a shorter one is a greeting or a caption
# Chosen by what is shown in vain of plain mails that the weights had not seen, by hands that knew
# no rules (`python -m triage.bench.training.likeness`, docs/mail.md): beside a grant one in five,
# of the others one to three in a hundred, of several animals, which only count beside a second
# photo, one in thirteen.
ALIKE: dict[Kind, float] = {"refusal": -0.3, "grant": -0.2, "another": 0.3, "several": -0.1}
ALIKE |= {"private": 0.2, "delete": 0.05, "correcting": 0.2}
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
    return sum_of_weights(
        "triage.mail", "likeness.npz", KINDS.index(kind), features(sentence), without
    )


def sum_of_weights(
    package: str, name: str, kind: int, found: NDArray[np.int64], without: int | None
) -> float:
    """The sum of the weights of what was found, by the ``kind``-th fit of a file of weights.

    Parameters
    ----------
    package, name : str
        Where the file lies: for each kind a row fitted on all batches and one without each fold.
    found : array of int, shape (n,)
        Buckets, as the fit counted them.
    without : int or None
        A fold of the batches in [0, FOLDS): by the weights that were fitted without it.
    """
    weights, bias = fitted_weights(package, name)
    row = kind * (FOLDS + 1) + (0 if without is None else without + 1)
    return float(weights[row, found].sum() / np.sqrt(max(1, len(found))) + bias[row])


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


@cache
def fitted_weights(package: str, name: str) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Weights and biases of a file."""
    file = resources.files(package) / name
    with file.open("rb") as opened, np.load(opened, allow_pickle=False) as held:
        scale = held["scale"].astype(np.float32)[:, None]
        return held["weights"].astype(np.float32) * scale, held["bias"].astype(np.float32)
