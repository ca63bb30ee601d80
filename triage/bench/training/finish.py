"""The second half of the trainer: networks and photos in, heads and out-of-fold answers out.

    python -m triage.bench.training.finish PHOTOS FOLDER

looks at each photo with the network of its fold, which has not seen it, through the program's own
``sight_of``; fits the shipped heads on these sights; and writes, for each photo's digest, what
heads fitted without its fold say of it. That table holds numbers only, and is what
``triage bench vision`` shows for photos the shipped networks were trained on.
"""

from __future__ import annotations

import argparse
import csv
import hashlib
import sys
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageOps

from triage.analysis import networks, subject, view
from triage.analysis.refitting import fit_softmax
from triage.analysis.view import FEATURES, VIEWS, Floats, Heads
from triage.bench.labels import FOLDS, Labelled, folds, read_labels

UNSURE_WEIGHT = 0.6  # of a photo whose view the labeller was unsure of
NO_ODONATE_SHARE = 0.4  # weight of all photos without an odonate over that of all with one
WHOLE = networks.CLASS_SCORES * 2  # first answer of the whole photo among the features
CLOSE = WHOLE + networks.ANSWERS
SECOND = networks.CLASS_SCORES  # first class score of the closer look
FOR_ODONATE = (0, 2, SECOND, SECOND + 2)  # strongest cell and whole picture, both looks
FOR_OTHERS = (3, SECOND + 3)  # other insects, both looks
RATIOS = (4, SECOND + 4)  # dragonfly over damselfly, both looks
COLUMNS = (
    "sha256", "fold", "odonate", "anisoptera", "pair", *(f"p_{name}" for name in VIEWS),
    "box", "body_box", "other_boxes", "kind",
)  # fmt: skip


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command."""
    parser = argparse.ArgumentParser(prog="python -m triage.bench.training.finish")
    parser.add_argument("photos", type=Path, help="folder with the photos and labels.csv")
    parser.add_argument("networks", type=Path, help="folder with fold_0.onnx ... insect.onnx")
    chosen = parser.parse_args(arguments)
    labels = read_labels(chosen.photos / "labels.csv")
    fold = np.zeros(len(labels), dtype=np.int64)
    sights: list[subject.Sight | None] = [None] * len(labels)
    for number, rows in enumerate(folds(labels, FOLDS)):
        fold[rows] = number
        for row in rows:
            pixels = read_pixels(chosen.photos / labels[row].file)
            model = chosen.networks / f"fold_{number}.onnx"
            sights[row] = subject.sight_of(pixels, insect_model=model)
    seen = [sight for sight in sights if sight is not None]
    features = np.array([sight.features for sight in seen]).astype(np.float16).astype(np.float64)
    model = (chosen.networks / "insect.onnx").read_bytes()
    version = hashlib.sha256(model).hexdigest()[:8]
    shipped = networks.shipped("insect")
    shipped.write_bytes(model)
    everything = np.arange(len(labels))
    heads = fit_heads(features, labels, everything, version)
    shipped.with_name("heads.npz").write_bytes(heads.to_bytes())
    rows_out: list[list[str]] = []
    for number in range(FOLDS):
        others = fit_heads(features, labels, everything[fold != number], version)
        for row in np.flatnonzero(fold == number).tolist():
            digest = hashlib.sha256((chosen.photos / labels[row].file).read_bytes()).hexdigest()
            rows_out.append(_row(digest, number, seen[row], others))
    with shipped.with_name("out_of_fold.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(COLUMNS)
        writer.writerows(sorted(rows_out))
    return 0


def read_pixels(file: Path) -> NDArray[np.uint8]:
    """The upright pixels of a photo."""
    with Image.open(file) as opened:
        return np.asarray(ImageOps.exif_transpose(opened).convert("RGB"), dtype=np.uint8)


def fit_heads(
    features: Floats, labels: list[Labelled], rows: NDArray[np.int64], version: str
) -> Heads:
    """Heads on the sights of photos in ``rows``, each from a network that has not seen it."""
    insects = [row for row in rows if labels[row].odonate]
    viewed = np.array([row for row in insects if labels[row].view])
    truth = np.eye(len(VIEWS))[[VIEWS.index(labels[row].view) for row in viewed]]
    weight = np.array([1.0 if labels[row].sure else UNSURE_WEIGHT for row in viewed])
    views, view_bias = _view_head(features, viewed, truth, weight)
    sided = np.array([row for row in insects if labels[row].suborder])
    anisoptera = np.array([labels[row].suborder == "anisoptera" for row in sided])
    odonate = np.array([labels[row].odonate for row in rows])
    paired = np.array([labels[row].pair for row in insects])
    of_pairs = (WHOLE + 7, CLOSE + 7)
    of_sides = (*RATIOS, WHOLE + 5, CLOSE + 5)
    suborder = _yes_or_no(features[sided], anisoptera, of_sides, 3.0)
    is_odonate = _odonate_head(features[rows], odonate)
    pair = _yes_or_no(features[insects], paired, of_pairs, 1.0)
    return Heads(
        view=views,
        view_bias=view_bias,
        suborder=suborder[0],
        suborder_bias=suborder[1],
        odonate=is_odonate[0],
        odonate_bias=is_odonate[1],
        pair=pair[0],
        pair_bias=pair[1],
        version=version,
    )


def _view_head(
    features: Floats, rows: NDArray[np.int64], truth: Floats, weight: Floats
) -> tuple[Floats, Floats]:
    """Both looks' answers averaged, then corrected as far as the evidence goes."""
    columns = [*range(WHOLE, WHOLE + 5), *range(CLOSE, CLOSE + 5)]
    mixed = np.zeros((5, FEATURES))
    mixed[range(5), range(WHOLE, WHOLE + 5)] = 0.4
    mixed[range(5), range(CLOSE, CLOSE + 5)] = 0.6
    x = features[rows]
    change, bias = fit_softmax(x[:, columns], truth, x @ mixed.T, penalty=10.0, weight=weight)
    mixed[:, columns] += change
    return mixed, bias


def _odonate_head(x: Floats, odonate: NDArray[np.bool_]) -> tuple[Floats, Floats]:
    """Two sums of class scores, for odonates and for other insects, weighed against each other.

    Only two weights and a bias are fitted: the photos without an odonate are too few for more.
    """
    sums = np.stack([x[:, FOR_ODONATE].sum(axis=1), x[:, FOR_OTHERS].sum(axis=1)], axis=1)
    negative = NO_ODONATE_SHARE * odonate.sum() / max(int((~odonate).sum()), 1)
    weight = np.where(odonate, 1.0, negative)
    (of_sums,), bias = _yes_or_no(sums, odonate, (0, 1), 30.0, weight)
    row = np.zeros((1, FEATURES))
    row[0, FOR_ODONATE], row[0, FOR_OTHERS] = of_sums[0], of_sums[1]
    return row, bias


def _yes_or_no(
    x: Floats,
    truth: NDArray[np.bool_],
    columns: tuple[int, ...],
    penalty: float,
    weight: Floats | None = None,
) -> tuple[Floats, Floats]:
    both = np.stack([~truth, truth], axis=1).astype(np.float64)
    start = np.zeros_like(both)
    found, bias = fit_softmax(x[:, list(columns)], both, start, penalty=penalty, weight=weight)
    row = np.zeros((1, FEATURES))
    row[0, list(columns)] = found[1] - found[0]
    return row, bias[1:] - bias[:1]


def _row(digest: str, fold: int, sight: subject.Sight, heads: Heads) -> list[str]:
    said = subject.subject_of(sight, heads)

    def box(sides: view.Box) -> str:
        return ";".join(f"{side:.4f}" for side in sides)

    numbers = [
        said.odonate,
        said.anisoptera,
        float(view.pair_probability(view.stored_features(said.features), heads)),
        *(getattr(said, f"p_{name}") for name in VIEWS),
    ]
    return [
        digest,
        str(fold),
        *(f"{number:.5f}" for number in numbers),
        box(said.box),
        box(said.body_box),
        " ".join(box(other) for other in said.other_boxes),
        said.kind,
    ]


if __name__ == "__main__":
    sys.exit(main())
