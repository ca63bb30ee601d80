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
from collections.abc import Iterable, Sequence
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


def alike(sentences: Iterable[str], kind: Kind, *, without: int | None = None) -> list[str]:
    """Those of a mail's sentences that may be of a kind, however put. Meant to find too many.

    ``without`` names a fold of the batches: by the weights that were fitted without it.

    >>> alike(["We sat on a bench.", "I would be mortified to come across them."], "refusal")
    ['I would be mortified to come across them.']
    """
    asked = list(sentences)
    likenesses = likenesses_of(asked, kind, without=without)
    return [one for one, like in zip(asked, likenesses, strict=True) if like > ALIKE[kind]]


def likenesses_of(
    sentences: Sequence[str], kind: Kind, *, without: int | None = None
) -> list[float]:
    """How much each of a mail's sentences is like those of a kind.

    Parameters
    ----------
    without : int, optional
        A fold of the batches in [0, FOLDS): by the weights that were fitted without it.

    Returns
    -------
    list of float
        About 1 like the kind, about -1 like other sentences; -1 below LEAST_WORDS words.
    """
    long = [one for one in sentences if len(one.split()) >= LEAST_WORDS]
    products = products_on(meanings(long), fitted_weights(*FILE).axes)
    found, row = [features(one) for one in long], KINDS.index(kind)
    like = dict(zip(long, sums_of_weights(*FILE, row, found, products, without), strict=True))
    return [like.get(one, -1.0) for one in sentences]


def sums_of_weights(
    package: str,
    name: str,
    kind: int,
    found: Sequence[NDArray[np.int64]],
    products: NDArray[np.float32],
    without: int | None,
) -> list[float]:
    """For each text the sum of the weights of what it holds and means, by one fit of a file.

    Parameters
    ----------
    package, name : str
        Where the file lies: for each kind a row fitted on all batches and one without each fold.
    kind : int
        Which of the file's fits.
    found : sequence of int arrays
        The buckets of each text, as the fit counted them.
    products : array, shape (len(found), m)
        What each means, on the axes of the file (``triage.mail.meaning.products_on``).
    without : int or None
        A fold of the batches in [0, FOLDS): by the weights that were fitted without it.
    """
    fit = fitted_weights(package, name)
    row = kind * (FOLDS + 1) + (0 if without is None else without + 1)
    words = [fit.weights[row, one].sum() / np.sqrt(max(1, len(one))) for one in found]
    meant = products @ fit.meant[row] + fit.bias[row]
    return [float(said + one) for said, one in zip(words, meant, strict=True)]


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
