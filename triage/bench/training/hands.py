"""Fit what tells a hand (``hands.npz``), on what the class network says of the labelled photos.

That network never sees a label, so its words on a photo are held out already; the weights are
fitted once on all photos and once without each fold. A minute on one core.
"""

from __future__ import annotations

from concurrent.futures import ProcessPoolExecutor

import numpy as np

from triage.analysis import hands, images, networks, subject
from triage.analysis.networks import Floats
from triage.bench.labels import Labelled
from triage.bench.training.heads import of_two

AXES = 64  # along which the classes of the photos differ most, whatever the labels
PENALTY = 10.0
HAND_WEIGHT = 10.0  # of a photo with a hand: 1 in 45 has one


def fit_hands(labels: list[Labelled], held: list[list[int]]) -> None:
    """Fit the weights and put the file in place."""
    with ProcessPoolExecutor() as workers:
        seen = np.array(list(workers.map(seen_of, labels, chunksize=8)))
    truth = np.array([label.hand for label in labels])
    everything = np.ones(len(labels), dtype=bool)
    rows = [fitted(seen, truth)]
    for fold in held:
        others = everything.copy()
        others[fold] = False
        rows.append(fitted(seen[others], truth[others]))
    file = networks.shipped("insect").with_name("hands.npz")
    np.savez_compressed(file, allow_pickle=False, weights=np.array(rows, dtype=np.float32))


def seen_of(label: Labelled) -> Floats:
    """Logits of the classes and the shares of skin of one photo."""
    small = images.halved(label.rgb(), subject.SHRUNK_SIDE)
    look = networks.class_look(networks.fitted(small, subject.CLASS_SIDE), threads=1)
    return np.concatenate([look.classes, hands.skin_of(small)])


def fitted(seen: Floats, truth: np.ndarray) -> Floats:
    """Weights and bias: a ridge regression along the strongest axes of the classes, and on skin."""
    classes = seen[:, : -hands.SKIN]
    middle = classes.mean(axis=0)
    axes = np.linalg.svd(classes - middle, full_matrices=False)[2][:AXES]
    x = np.column_stack([(classes - middle) @ axes.T, seen[:, -hands.SKIN :]])
    row, bias = of_two(x, truth, PENALTY, np.where(truth, HAND_WEIGHT, 1.0))
    along = row[:AXES] @ axes
    return np.concatenate([along, row[AXES:], [bias - along @ middle]])
