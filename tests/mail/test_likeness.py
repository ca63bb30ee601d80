"""The likeness of a sentence to others that were read, and the fit it comes from."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from scipy.sparse.linalg import lsqr

from triage.bench.training.likeness import Sentence, fitted, read, ridge_of_meaning, save
from triage.mail.likeness import (
    ALIKE,
    BUCKETS,
    FOLDS,
    KINDS,
    LEAST_WORDS,
    READ,
    Kind,
    alike,
    features,
    likenesses_of,
)

FOLDER = Path(__file__).parent.parent / "data" / "mails"


@pytest.mark.parametrize(
    "text",
    [
        "My father-in-law would be furious if this got about.",
        "Ich fände es unangenehm, wenn das jemand zu sehen bekäme.",
        "Nie chciałabym, żeby to gdzieś krążyło.",
        "Je ne voudrais pas que cela circule.",
    ],
)
def test_sentences_like_refusals_are_found_whatever_the_language(text: str):
    assert alike([text], "refusal") == [text]


@pytest.mark.parametrize(
    "text",
    [
        "Two males and a female on the reeds at noon.",
        "Gestern am Ufer gesehen, sie saß auf einem Halm.",
        "Siedziała na trzcinie przy brzegu.",
        "Vue hier matin, posée sur une tige.",
    ],
)
def test_what_was_seen_is_like_none(text: str):
    assert alike([text], "refusal") == []


@pytest.mark.parametrize("kind", KINDS)
def test_the_sentences_of_a_mail_are_as_like_together_as_each_by_itself(kind: Kind):
    """Short ones and one said twice among them; sums of a batch differ in their last bits."""
    mail = ["Hello.", "Please delete the picture from my garden.", "Thanks!"] + [
        "It sat there."
    ] * 2
    together = likenesses_of(mail, kind)
    alone = [one for sentence in mail for one in likenesses_of([sentence], kind)]
    assert together == pytest.approx(alone, abs=1e-5)
    assert together[0] == together[2] == -1.0
    assert alike(mail, kind) == [
        m for m, like in zip(mail, alone, strict=True) if like > ALIKE[kind]
    ]
    assert likenesses_of([], kind) == []


def test_features_are_few_each_once_and_of_a_bounded_text():
    found = features("no no no" * 10_000)
    assert len(found) == len(set(found.tolist()))
    assert features("ab " * 10_000).tolist() == features(("ab " * 10_000)[:READ]).tolist()
    assert features("14 June").tolist() == features("3 June").tolist()
    assert likenesses_of(["no " * (LEAST_WORDS - 1)], "refusal") == [-1.0]


def test_a_fit_tells_what_it_was_taught_and_leaves_each_fold_out(tmp_path: Path):
    """Words of one fold alone weigh nothing in the row that was fitted without it."""
    sentences = [
        Sentence(text=f"keep {word} secret", alike=True, fold=at % FOLDS, batch="consents", mail=at)
        for at, word in enumerate(("zebra", "yucca", "xenon", "wombat", "vulture", "umbrella"))
    ] + [
        Sentence(text="it sat on a reed", alike=False, fold=at, batch="plain", mail=at + 10)
        for at in range(FOLDS)
    ]
    meant = {one.text: np.float32([one.alike, not one.alike]) for one in sentences}
    fit = fitted(sentences, meant, 1.0)
    weights = fit.weights
    assert weights.shape == (FOLDS + 1, BUCKETS)
    secret, reed, zebra = (features(word) for word in ("secret", "reed", "zebra"))
    assert weights[:, secret].sum() > 0 > weights[:, reed].sum()
    assert (fit.meant[:, 0] > 0).all()
    assert (fit.meant[:, 1] < 0).all()
    own = np.setdiff1d(zebra, np.concatenate([features(one.text) for one in sentences[1:]]))
    assert len(own)
    assert np.allclose(weights[1, own], 0)
    assert (weights[0, own] > 0).all()
    file = tmp_path / "likeness.npz"
    save(file, [fit], np.eye(2, dtype=np.float32))
    with np.load(file, allow_pickle=False) as held:
        again = held["weights"] * held["weights scale"][:, None]
        assert np.allclose(held["meant"] * held["meant scale"][:, None], fit.meant, atol=0.01)
    assert np.allclose(again, weights, atol=np.abs(weights).max() / 127)


def test_what_is_meant_is_fitted_as_by_an_independent_solver():
    """Damped least squares by SciPy (Paige & Saunders 1982), without the fold of the row."""
    random = np.random.default_rng(5)
    x = random.normal(size=(60, 7)).astype(np.float32)
    alike, folds = random.random(60) < 0.4, np.arange(60) % FOLDS
    penalty = np.where(alike, 0.5, 1.0)
    weights, biases = ridge_of_meaning(x, alike, folds, penalty=penalty)
    rows = np.flatnonzero(folds != 2)
    stacked = np.hstack([x, np.ones((60, 1))])[rows] / np.sqrt(penalty[rows])[:, None]
    truth = np.where(alike, 1.0, -1.0)[rows] / np.sqrt(penalty[rows])
    solved = lsqr(stacked, truth, damp=1.0, atol=1e-12, btol=1e-12)[0]
    assert np.allclose(np.append(weights[3], biases[3]), solved, atol=1e-4)


@pytest.mark.parametrize("kind", KINDS)
def test_no_sentence_that_is_taught_is_counted_and_what_is_wanted_is_in_several_folds(kind: Kind):
    sentences = list(read(FOLDER, kind))
    assert {one.batch for one in sentences if one.fold < 0} <= {"taught"}
    assert len({one.fold for one in sentences if one.alike}) >= 3
