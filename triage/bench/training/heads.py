"""Fit the heads: what the networks say of photos they had not seen, against the labels."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from triage.analysis import networks
from triage.analysis.refitting import fit_softmax, log_losses
from triage.analysis.view import (
    CLOSE,
    FEATURES,
    KINDS,
    OWN,
    SHAPE_FROM,
    SHAPES,
    VIEWS,
    WHOLE,
    Floats,
    Heads,
)
from triage.bench.labels import Labelled

SHAPE_PENALTY, STRETCH_PENALTY = 10.0, 5.0  # ridge, of the view's head
UNSURE_WEIGHT = 0.6  # of a photo whose view the labeller was unsure of
NO_ODONATE_SHARE = 0.38  # weight of all photos without an odonate over that of all with one
CLOSE_SHARE = 0.6  # of the close look in the mean of both
RARE_VIEWS, RARE_KINDS = 0.7, 0.7  # weight of a class: (largest / own) to this power
OWN_CLOSE = OWN + networks.OWN_SCORES  # first own score of the close look
OF_SCORES = (0, 1, 2, 3, *(first + k for first in (OWN, OWN_CLOSE) for k in (0, 1, 4, 5)))
OF_CLASSES = tuple(range(WHOLE))  # all class scores of both networks
OF_KINDS = tuple(
    look + one for look in (WHOLE, CLOSE) for one in range(networks.FIRST_KIND, networks.ANSWERS)
)
RATIO = 4  # dragonfly over damselfly, by the class network
Rows = NDArray[np.int64]


def fit_heads(features: Floats, labels: list[Labelled], rows: Rows, version: str) -> Heads:
    """Heads on the sights of photos in ``rows``, each from a network that has not seen it."""
    insects = [row for row in rows if labels[row].odonate]
    sided = np.array([row for row in insects if labels[row].suborder])
    anisoptera = np.array([labels[row].suborder == "anisoptera" for row in sided])
    odonate = np.array([labels[row].odonate for row in rows])
    paired = np.array([labels[row].pair for row in insects])
    views = _view_head(features, labels, np.array([row for row in insects if labels[row].view]))
    kinds = _kind_head(features[rows], [labels[row].kind for row in rows])
    suborder = _yes_or_no(features[sided], anisoptera, (RATIO, *_both(networks.ANISOPTERA)), 3.0)
    negative = NO_ODONATE_SHARE * odonate.sum() / max(int((~odonate).sum()), 1)
    of_odonate = (*OF_SCORES, *_both(networks.IS_ODONATE))
    weight = np.where(odonate, 1.0, negative)
    is_odonate = _yes_or_no(features[rows], odonate, of_odonate, 10.0, weight)
    pair = _yes_or_no(features[insects], paired, _both(networks.IS_PAIR), 1.0)
    return Heads(
        view=views[0],
        view_bias=views[1],
        suborder=suborder[0],
        suborder_bias=suborder[1],
        odonate=is_odonate[0],
        odonate_bias=is_odonate[1],
        pair=pair[0],
        pair_bias=pair[1],
        kind=kinds[0],
        kind_bias=kinds[1],
        version=version,
    )


def _both(answer: int) -> tuple[int, int]:
    """Where an answer stands among the features: of the whole picture, of the close look."""
    return WHOLE + answer, CLOSE + answer


def _view_head(features: Floats, labels: list[Labelled], rows: Rows) -> tuple[Floats, Floats]:
    """The mean of both looks' answers and what the shape of the boxes adds, rare views raised."""
    from scipy.optimize import minimize
    from scipy.special import softmax

    found = np.array([VIEWS.index(labels[row].view) for row in rows])
    count = np.bincount(found, minlength=len(VIEWS))
    weight = np.array([1.0 if labels[row].sure else UNSURE_WEIGHT for row in rows])
    weight = weight * (count.max() / count[found]) ** RARE_VIEWS
    weight = weight * len(weight) / weight.sum()
    x, mixed = features[rows], np.zeros((len(VIEWS), FEATURES))
    for look, share in ((WHOLE, 1 - CLOSE_SHARE), (CLOSE, CLOSE_SHARE)):
        mixed[range(len(VIEWS)), range(look, look + len(VIEWS))] = share
    logits, shape, truth = x @ mixed.T, x[:, SHAPE_FROM:], np.eye(len(VIEWS))[found]

    def loss(given: Floats) -> tuple[float, Floats]:
        stretch, bias, of_shape = np.exp(given[0]), given[1:6], given[6:].reshape(len(VIEWS), -1)
        told = stretch * logits + bias + shape @ of_shape.T
        off = (softmax(told, axis=1) - truth) * weight[:, None]
        slopes = (
            [(off * logits).sum() * stretch + 2 * STRETCH_PENALTY * given[0]],
            off.sum(axis=0) + 2 * bias,
            (off.T @ shape + 2 * SHAPE_PENALTY * of_shape).ravel(),
        )
        value = (weight * log_losses(told, found)).sum() + STRETCH_PENALTY * given[0] ** 2
        value += (bias**2).sum() + SHAPE_PENALTY * (of_shape**2).sum()
        return float(value), np.concatenate(slopes)

    start = np.zeros(1 + len(VIEWS) + len(VIEWS) * SHAPES)
    given = minimize(loss, start, jac=True, method="L-BFGS-B").x
    head = np.exp(given[0]) * mixed
    head[:, SHAPE_FROM:] = given[6:].reshape(len(VIEWS), -1)
    return head, given[1:6]


def _kind_head(x: Floats, kinds: list[str]) -> tuple[Floats, Floats]:
    found = np.array([KINDS.index(kind) for kind in kinds])
    count = np.bincount(found, minlength=len(KINDS))
    weight = (len(found) / len(KINDS) / np.maximum(count, 1))[found] ** RARE_KINDS
    columns = [*OF_CLASSES, *OF_KINDS]
    truth = np.eye(len(KINDS))[found]
    start = np.zeros_like(truth)
    weights, bias = fit_softmax(x[:, columns], truth, start, penalty=3.0, weight=weight)
    head = np.zeros((len(KINDS), FEATURES))
    head[:, columns] = weights
    return head, bias


def _yes_or_no(
    x: Floats,
    truth: NDArray[np.bool_],
    columns: tuple[int, ...],
    penalty: float,
    weight: Floats | None = None,
) -> tuple[Floats, Floats]:
    row = np.zeros((1, FEATURES))
    row[0, list(columns)], bias = of_two(x[:, list(columns)], truth, penalty, weight)
    return row, np.array([bias])


def of_two(
    x: Floats, truth: NDArray[np.bool_], penalty: float, weight: Floats | None
) -> tuple[Floats, float]:
    """Weights and bias of a yes against a no, by ridge regression."""
    both = np.stack([~truth, truth], axis=1).astype(np.float64)
    found, bias = fit_softmax(x, both, np.zeros_like(both), penalty=penalty, weight=weight)
    return found[1] - found[0], bias[1] - bias[0]
