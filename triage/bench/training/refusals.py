"""Fit what tells a soft refusal (``refusals.npz``), on what volunteers said, and say how well.

    python -m triage.bench.training.refusals tests/data/mails

FOLDER holds the batches: consents (refusals and neutral sentences), plain and odd mails, of which
no sentence refuses, and what is taught besides and never counted. The figures are of batches that
the weights had not seen. Half a minute on one core.
"""

from __future__ import annotations

import re
import sys
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from importlib import resources
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from triage.mail.authorship import divide_text
from triage.mail.consent import read_consent, sentences_of
from triage.mail.refusals import BUCKETS, FOLDS, LEAST_WORDS, features, likeness

PENALTY = 1.0
PRICES = (0.03, 0.05, 0.08, 0.1, 0.15)  # shares of plain mails that are shown


@dataclass(frozen=True, slots=True, kw_only=True)
class Sentence:
    """One sentence; ``mail`` numbers its mail. ``fold`` is -1 for what is in every fit."""

    text: str
    refuses: bool
    fold: int
    kind: str
    mail: int


def main(folder: Path) -> None:
    """Fit, put the file in place, and print what held-out batches say."""
    sentences = [one for one in read(folder) if len(one.text.split()) >= LEAST_WORDS]
    file = Path(str(resources.files("triage.mail") / "refusals.npz"))
    save(file, fitted(sentences))
    report(sentences)


def read(folder: Path) -> Iterator[Sentence]:
    """The sentences of all batches."""
    mail = 0
    for path in sorted(folder.glob("*.toml")):
        kind, _, number = path.stem.partition("_")
        held = tomllib.loads(path.read_text("utf-8"))
        fold = int(number) % FOLDS
        if kind == "taught":
            for refuses in (True, False):
                for text in held["refusals" if refuses else "neutral"]:
                    yield Sentence(text=text, refuses=refuses, fold=-1, kind=kind, mail=-1)
            continue
        for one in held["mails"]:
            mail += 1
            if kind == "consents" and one["said"] in ("no", "nothing"):
                refuses, texts = one["said"] == "no", [one["text"]]
            elif kind in ("plain", "odd"):
                own = divide_text(one["text"], subject=one["subject"])[0].text
                refuses, texts = False, sentences_of(f"{one['subject']}\n\n{own}")
            else:
                continue
            for text in texts:
                yield Sentence(text=text, refuses=refuses, fold=fold, kind=kind, mail=mail)


def fitted(sentences: list[Sentence]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Weights and biases by ridge regression, in rows: of all, and without each fold."""
    x = np.zeros((len(sentences), BUCKETS), dtype=np.float32)
    for row, one in enumerate(sentences):
        found = features(one.text)
        x[row, found] = 1 / np.sqrt(max(1, len(found)))
    alike = (x @ x.T).astype(np.float64) + 1
    refuses = np.array([one.refuses for one in sentences])
    folds = np.array([one.fold for one in sentences])
    weights, biases = [], []
    for left_out in (None, *range(FOLDS)):
        rows = np.flatnonzero(folds != left_out if left_out is not None else folds > -2)
        truth = np.where(refuses[rows], 1.0, -1.0)
        rare = (truth < 0).sum() / (truth > 0).sum()
        penalty = np.diag(PENALTY / np.where(truth > 0, rare, 1.0))
        dual = np.linalg.solve(alike[np.ix_(rows, rows)] + penalty, truth)
        weights.append(x[rows].T.astype(np.float64) @ dual)
        biases.append(dual.sum())
    return np.array(weights), np.array(biases)


def save(file: Path, found: tuple[NDArray[np.float64], NDArray[np.float64]]) -> None:
    """Write the weights in whole numbers of a scale for each row."""
    weights, bias = found
    scale = np.abs(weights).max(axis=1) / 127
    whole = np.round(weights / scale[:, None]).astype(np.int8)
    np.savez_compressed(
        file,
        allow_pickle=False,
        weights=whole,
        scale=scale.astype(np.float32),
        bias=bias.astype(np.float32),
    )


def report(sentences: list[Sentence]) -> None:
    """Print, for prices in plain mails, how many refusals of unseen batches are heard."""
    said = [likeness(one.text, without=one.fold) for one in sentences if one.fold >= 0]
    counted = [one for one in sentences if one.fold >= 0]
    plain: dict[int, float] = {}
    for one, like in zip(counted, said, strict=True):
        if one.kind == "plain":
            plain[one.mail] = max(like, plain.get(one.mail, -9.0))
    consents = [pair for pair in zip(counted, said, strict=True) if pair[0].kind == "consents"]
    refusals = [(one, like) for one, like in consents if one.refuses]
    neutral = [like for one, like in consents if not one.refuses]
    by_rule = [heard_by_rule(one.text) for one, _ in refusals]
    for price in PRICES:
        least = float(np.quantile(list(plain.values()), 1 - price))
        alone = sum(like > least for _, like in refusals)
        both = sum(like > least or rule for (_, like), rule in zip(refusals, by_rule, strict=True))
        print(
            f"{price:.0%} of plain mails shown, above {least:.2f}: {alone} of {len(refusals)} "
            f"refusals by likeness, {both} with the rules; "
            f"{sum(like > least for like in neutral)} of {len(neutral)} neutral sentences"
        )


def heard_by_rule(text: str) -> bool:
    """Whether a refusal is heard without its likeness."""
    found = read_consent(text)
    return found.publish == "no" or bool(found.wording)


if __name__ == "__main__":
    if len(sys.argv) != 2 or not re.search(r"\w", sys.argv[1]):
        raise SystemExit(__doc__)
    main(Path(sys.argv[1]))
