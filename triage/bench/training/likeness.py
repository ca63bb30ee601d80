"""Fit what tells refusals, private places, other photographers and more (``likeness.npz``).

    python -m triage.bench.training.likeness tests/data/mails

FOLDER holds the batches: consents (refusals and neutral sentences), relayed (who took it, how
many), private, delete and correcting, plain and odd mails, and what is taught besides and never
counted. The figures are of batches that the weights had not seen. Some minutes on one core.
"""

from __future__ import annotations

import sys
import tomllib
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from importlib import resources
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy import linalg, sparse
from scipy.sparse.linalg import LinearOperator, cg

from triage.mail.authorship import divide_text
from triage.mail.consent import read_consent, sentences_of
from triage.mail.consent_words import WORDS
from triage.mail.likeness import (
    BUCKETS,
    FILE,
    FOLDS,
    KINDS,
    LEAST_WORDS,
    Kind,
    features,
    fitted_weights,
    likenesses_of,
)
from triage.mail.meaning import meanings, products_on
from triage.mail.photographers import another_took_it
from triage.mail.wishes import asks_to_delete
from triage.metadata.corrections import words_of_a_correction
from triage.metadata.private_places import words_of_a_private_place
from triage.sightings.words import words_of_several

PENALTY: dict[Kind, float] = dict.fromkeys(KINDS, 1.0) | {"refusal": 0.5}
AXES = 64  # along which what a sentence means varies most
SHARE = 1 / 3  # of what is meant in the likeness
SOLVED = 1e-6  # of the equations' right side; weights are kept in 127 steps
PRICES = (0.005, 0.01, 0.02, 0.03, 0.05, 0.1, 0.15, 0.2)  # shares of plain mails that are shown
_BATCHES: dict[Kind, str] = {kind: kind for kind in KINDS}
_BATCHES |= {"refusal": "consents", "grant": "consents"}
_BATCHES |= {"another": "relayed", "several": "relayed"}
# What a mail of the consents says, and which way it teaches; what is left out teaches neither.
_SAID: dict[Kind, dict[str, bool]] = {
    "refusal": {"no": True, "": True, "nothing": False},
    "grant": {"yes": True, "nothing": False},
}
# What tells one thing tells no other: what is not to be shown is not to be deleted.
_UNLIKE: dict[Kind, tuple[str, ...]] = {
    "refusal": ("odd",),
    "grant": ("odd", "private", "delete", "correcting", "relayed"),
    "another": ("consents",),
    "several": (),
    "private": ("delete", "correcting", "relayed", "consents"),
    "delete": ("private", "correcting", "relayed", "consents", "odd", "told"),
    "correcting": ("private", "delete", "relayed", "consents", "told"),
}
# Each by the first hand, then by hands that knew no rules: of these somebody marked what they tell
# besides, so that the others tell of no kind.
PLAIN, ODD = ("plain", "mention"), ("odd", "mislead")
_OF_NONE = (*PLAIN, "mislead")
# What is taught besides: like the kind, then what is not.
_TAUGHT: dict[str, tuple[str, ...]] = {kind: (kind, f"{kind} neutral") for kind in KINDS}
_TAUGHT |= {"refusal": ("refusals", "neutral"), "grant": ("grants", "neutral")}
_TAUGHT |= {"another": ("another", "one neutral"), "several": ("several", "one neutral")}
_TAUGHT["delete"] += ("private", "refusals")

Rows = tuple[NDArray[np.float64], NDArray[np.float64]]  # weights and biases


class Fit(NamedTuple):
    """In rows: weights of buckets, of what is meant, and biases."""

    weights: NDArray[np.float64]
    meant: NDArray[np.float64]
    biases: NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sentence:
    """One sentence; ``mail`` numbers its mail. ``fold`` is -1 for what is in every fit."""

    text: str
    alike: bool
    fold: int
    batch: str
    mail: int


def main(folder: Path) -> None:
    """Fit, put the file in place, and print what held-out batches say."""
    by_kind = {kind: list(read(folder, kind)) for kind in KINDS}
    texts = sorted({one.text for sentences in by_kind.values() for one in sentences})
    vectors = meanings(texts)
    axes = axes_of(vectors)
    meant = dict(zip(texts, products_on(vectors, axes), strict=True))
    fits = [fitted(sentences, meant, PENALTY[kind]) for kind, sentences in by_kind.items()]
    save(Path(str(resources.files(FILE[0]) / FILE[1])), fits, axes)
    fitted_weights.cache_clear()
    for kind, sentences in by_kind.items():
        report(kind, sentences)


def read(folder: Path, kind: Kind) -> Iterator[Sentence]:
    """The sentences of all batches that are for or against a kind, none too short."""
    mail = 0
    for path in sorted(folder.glob("*.toml")):
        batch, _, number = path.stem.partition("_")
        held = tomllib.loads(path.read_text("utf-8"))
        said = _taught(held, kind) if batch == "taught" else _batch(held, batch, kind)
        for texts, alike in said:
            mail += 1
            fold = -1 if batch == "taught" else int(number) % FOLDS
            for text in texts:
                if len(text.split()) >= LEAST_WORDS:
                    yield Sentence(text=text, alike=alike, fold=fold, batch=batch, mail=mail)


def _taught(held: dict[str, list[str]], kind: Kind) -> Iterator[tuple[list[str], bool]]:
    for name in _TAUGHT[kind]:
        yield held.get(name, []), name == _TAUGHT[kind][0]


def _batch(
    held: dict[str, list[dict[str, Any]]], batch: str, kind: Kind
) -> Iterator[tuple[list[str], bool]]:
    """A mail says which of its sentences tell; one that does not say it is one sentence.

    What a mail tells besides what its batch is for stands under ``also``; where no sentence of it
    tells by itself, it teaches neither way.
    """
    for one in held["mails"]:
        own = divide_text(one["text"], subject=one.get("subject", ""))[0].text
        said = sentences_of(f"{one.get('subject', '')}\n\n{own}")
        also = one.get("also", {})
        if kind in also:
            yield from _divided(said, also[kind]) if also[kind] else ()
        elif batch in (*_OF_NONE, *_UNLIKE[kind]):
            # What is said of others' photos, or of leave for some uses, is told apart by nobody.
            if one.get("said") != "" and not WORDS["withdrawal"].search(own):
                yield said, False
        elif batch == _BATCHES[kind] and one.get("said") in (None, *_SAID.get(kind, ())):
            alike = one.get(kind, _SAID[kind][one["said"]] if "said" in one else True)
            if "tells" in one:
                yield from _divided(said, one["tells"] if alike else [])
            elif one.get("said", "no"):
                yield [one["text"]], bool(alike)


def _divided(said: list[str], telling: list[str]) -> Iterator[tuple[list[str], bool]]:
    yield telling, True
    yield [text for text in said if text not in telling], False


def axes_of(vectors: NDArray[np.float32]) -> NDArray[np.float32]:
    """The axes along which vectors vary most, as the file of weights keeps them."""
    _, _, axes = np.linalg.svd(vectors.T @ vectors)
    return np.asarray(axes[:AXES]).astype(np.float16).astype(np.float32)


def fitted(sentences: list[Sentence], meant: dict[str, NDArray[np.float32]], penalty: float) -> Fit:
    """Weights and biases of a kind, the rarer sentences counting as much as the others."""
    alike = np.array([one.alike for one in sentences])
    folds = np.array([one.fold for one in sentences])
    penalties = penalty * np.where(alike, alike.sum() / (~alike).sum(), 1.0)
    words = ridge(
        [features(one.text) for one in sentences], alike, folds, penalty=penalties, buckets=BUCKETS
    )
    products = np.array([meant[one.text] for one in sentences])
    meaning = ridge_of_meaning(products, alike, folds, penalty=penalties / penalty)
    return mixed(words, meaning, SHARE)


def mixed(words: Rows, meant: Rows, share: float) -> Fit:
    """The mean of two fits, by words themselves and by what is meant, which has ``share`` in it."""
    return Fit(words[0] * (1 - share), meant[0] * share, words[1] * (1 - share) + meant[1] * share)


def ridge(
    found: Sequence[NDArray[np.int64]],
    alike: NDArray[np.bool_],
    folds: NDArray[np.int64],
    *,
    penalty: NDArray[np.float64],
    buckets: int,
    telling: bool = False,
) -> Rows:
    """Weights of buckets and biases by ridge regression, in rows: of all, and without each fold.

    Parameters
    ----------
    found : sequence of int64 arrays
        The features of each text.
    alike, folds, penalty : arrays, shape (len(found),)
        Whether a text is of the kind, its fold (-1 for every fit), how little it counts.
    telling : bool
        Whether features are weighted by how much they tell first: Wang & Manning (2012), Baselines
        and Bigrams, https://aclanthology.org/P12-2018. It helps where both kinds are frequent.
    """
    shares = [np.full(len(one), 1 / np.sqrt(max(1, len(one)))) for one in found]
    ends = np.cumsum([0, *map(len, found)])
    shape = (len(found), buckets)
    x = sparse.csr_array((np.concatenate(shares), np.concatenate(found), ends), shape=shape)
    weights, biases = [], []
    start = np.zeros(len(found))  # of each fold the fit of all is near
    for left_out in (None, *range(FOLDS)):
        rows = np.flatnonzero(folds != left_out if left_out is not None else folds > -2)
        scale = _telling(x[rows], alike[rows]) if telling else np.ones(buckets)
        seen = x[rows] @ sparse.diags_array(scale)
        size = float(np.sqrt(seen.power(2).sum(axis=1)).mean())
        truth = np.where(alike[rows], 1.0, -1.0)
        dual = _dual(seen / size, penalty[rows], truth, start[rows])
        start = dual if left_out is None else start
        weights.append(seen.T @ dual * scale / size**2)
        biases.append(dual.sum())
    return np.array(weights), np.array(biases)


def _dual(
    seen: sparse.csr_array,
    penalty: NDArray[np.float64],
    truth: NDArray[np.float64],
    start: NDArray[np.float64],
) -> NDArray[np.float64]:
    """What each text adds: (seen seen' + 1 + penalty) dual = truth, by conjugate gradients."""
    shape = (len(truth), len(truth))

    def times(dual: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray(seen @ (seen.T @ dual) + dual.sum() + penalty * dual)

    operator = LinearOperator(shape, matvec=times)
    dual, failed = cg(operator, truth, x0=start, rtol=SOLVED, maxiter=10_000)
    if failed:
        raise ValueError("the fit does not converge")
    return np.asarray(dual)


def ridge_of_meaning(
    products: NDArray[np.float32],
    alike: NDArray[np.bool_],
    folds: NDArray[np.int64],
    *,
    penalty: NDArray[np.float64],
) -> Rows:
    """Weights of what is meant and biases by ridge regression, in the same rows.

    Parameters
    ----------
    products : array, shape (len(alike), m)
        What each text means (``triage.mail.meaning.products_on``); the others as of ``ridge``.
    """
    x = np.hstack([products, np.ones((len(products), 1), dtype=np.float32)])
    counted = (x / penalty[:, None]).astype(np.float32)
    truth = np.where(alike, 1.0, -1.0).astype(np.float32)
    parts = {fold: counted[folds == fold].T for fold in np.unique(folds)}
    squares = {fold: part @ x[folds == fold] for fold, part in parts.items()}
    sides = {fold: part @ truth[folds == fold] for fold, part in parts.items()}
    rows = []
    for left_out in (None, *range(FOLDS)):
        square = sum(one for fold, one in squares.items() if fold != left_out)
        side = sum(one for fold, one in sides.items() if fold != left_out)
        system = np.asarray(square, dtype=np.float64) + np.eye(x.shape[1])
        rows.append(linalg.solve(system, np.asarray(side, dtype=np.float64), assume_a="pos"))
    return np.array(rows)[:, :-1], np.array(rows)[:, -1]


def _telling(x: sparse.csr_array, alike: NDArray[np.bool_]) -> NDArray[np.float64]:
    """How much each feature tells: the absolute logarithm of its ratio in the two kinds."""
    here, there = ((x[alike == one] > 0).sum(axis=0) + 0.5 for one in (True, False))
    return np.asarray(np.abs(np.log(here / here.sum() / (there / there.sum()))))


def save(file: Path, fits: list[Fit], axes: NDArray[np.float32]) -> None:
    """Write what was fitted of all kinds, in whole numbers of a scale for each row."""
    held: dict[str, NDArray[Any]] = {"axes": axes.astype(np.float16)}
    held["bias"] = np.concatenate([fit.biases for fit in fits]).astype(np.float32)
    for name, rows in (
        ("weights", np.concatenate([fit.weights for fit in fits])),
        ("meant", np.concatenate([fit.meant for fit in fits])),
    ):
        scale = np.abs(rows).max(axis=1) / 127
        held[name] = np.round(rows / scale[:, None]).astype(np.int8)
        held[f"{name} scale"] = scale.astype(np.float32)
    np.savez_compressed(file, allow_pickle=False, **held)


def report(kind: Kind, sentences: list[Sentence]) -> None:
    """Print, for prices in plain mails, how many sentences of unseen batches are found.

    The price is that of the batches called mention, by hands that knew no rules; how much it is in
    the other plain ones, by the first hand, stands beside it.
    """
    plain: dict[str, dict[int, float]] = {batch: {} for batch in PLAIN}
    others: list[float] = []
    wanted: list[tuple[float, bool]] = []
    for one, like in _by_unseen_weights(kind, sentences):
        if one.alike:
            wanted.append((like, _BY_RULE[kind](one.text, one.fold)))
        elif one.batch in plain:
            plain[one.batch][one.mail] = max(like, plain[one.batch].get(one.mail, -9.0))
        else:
            others.append(like)
    first, later = (np.array(list(plain[batch].values())) for batch in PLAIN)
    for price in PRICES:
        least = float(np.quantile(later, 1 - price))
        print(
            f"{kind}: {price:.1%} of {len(later)} plain mails shown, above {least:.2f} "
            f"({(first > least).mean():.1%} of {len(first)} by the first hand): "
            f"{sum(like > least for like, _ in wanted)} of {len(wanted)} found by likeness, "
            f"{sum(like > least or rule for like, rule in wanted)} with the rules; "
            f"{sum(like > least for like in others)} of {len(others)} other sentences"
        )


def _by_unseen_weights(kind: Kind, sentences: list[Sentence]) -> Iterator[tuple[Sentence, float]]:
    for fold in range(FOLDS):
        counted = [one for one in sentences if one.fold == fold and one.batch not in ODD]
        likenesses = likenesses_of([one.text for one in counted], kind, without=fold)
        yield from zip(counted, likenesses, strict=True)


def _refused_by_rule(text: str, fold: int) -> bool:
    found = read_consent(text)
    return found.publish == "no" or bool(found.wording)


# By the rules, and by the likeness that has not seen the batch.
_BY_RULE: dict[Kind, Callable[[str, int], bool]] = {
    "refusal": _refused_by_rule,
    "grant": lambda text, fold: read_consent(text).publish == "yes",
    "another": lambda text, fold: bool(another_took_it(text, without=fold)[0]),
    "several": lambda text, fold: bool(words_of_several(text, without=fold)),
    "private": lambda text, fold: bool(words_of_a_private_place(text, without=fold)),
    "delete": lambda text, fold: bool(asks_to_delete(text, without=fold)),
    "correcting": lambda text, fold: bool(words_of_a_correction(text, without=fold)),
}


if __name__ == "__main__":
    if len(sys.argv) != 2:
        raise SystemExit(__doc__)
    main(Path(sys.argv[1]))
