"""Fit better heads to people's corrections, with proof or not at all.

A head is corrected by a ridge-penalised regression (softmax for views and suborders, least squares
for the sides of the box) that starts from the head in use: with no evidence it stays what it is.
Before and after are measured on held-out groups; the new head is kept only if it is better there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from triage.analysis import subject, view
from triage.analysis.view import VIEWS, Box, Floats, Heads

Rows = NDArray[np.int64]
PENALTIES = (10.0, 50.0, 250.0)  # ridge, on standardised features and summed losses
BOX_PENALTIES = (100.0, 1000.0, 10000.0)
FARTHEST = 0.5  # of the box that a side counts as missing: what lies elsewhere teaches no margin
CLOSE = 0.7  # intersection over union at which a box is called right
FOLDS = 10
FEWEST = 20  # labelled photos a head needs before it is refitted
FEWEST_GROUPS = 5
BETTER, NOT_BETTER = "better on held-out groups", "not surely better on held-out groups"


@dataclass(frozen=True, slots=True, kw_only=True)
class Refit:
    """What refitting one head came to, measured on held-out groups.

    ``loss`` is the mean logarithmic loss (0 is perfect), ``right`` the share of photos right. For
    the box, ``loss`` is 1 minus the mean intersection over union with the corrected box, and right
    is an intersection over union of 0.7 or more.
    """

    head: str
    photos: int
    loss_before: float
    loss_after: float
    right_before: float
    right_after: float
    kept: bool
    reason: str


def refit_heads(
    features: Floats,
    *,
    views: Sequence[str],
    suborders: Sequence[str],
    groups: Sequence[str],
    heads: Heads | None = None,
    version: str = "refitted",
) -> tuple[Heads, tuple[Refit, ...]]:
    """Refit the view and suborder heads on corrected photos.

    Parameters
    ----------
    features : float array, photos x 363
        The feature vectors kept with the photos.
    views, suborders : sequences of str
        One of ``VIEWS`` and anisoptera or zygoptera; empty where nobody said.
    groups : sequence of str
        Photos of one group (a sighting, an observer) are never divided between fitting and test.
    heads : Heads, optional
        The heads in use; the shipped ones by default.
    version : str
        Name of the new heads.

    Returns
    -------
    Heads, tuple of Refit
        The heads in use with each better head replaced (the same object if none is), and what
        each refit came to.

    Raises
    ------
    ValueError
        If the lengths differ or a label is unknown.
    """
    used = heads or view.shipped_heads()
    if features.ndim != 2 or not len(features) == len(views) == len(suborders) == len(groups):
        raise ValueError("features, views, suborders and groups must have one entry a photo")
    if unknown := {*views, *suborders} - {"", *VIEWS, "anisoptera", "zygoptera"}:
        raise ValueError(f"unknown labels: {', '.join(sorted(unknown))}")
    found = np.array([VIEWS.index(name) if name else -1 for name in views])
    logits = view.view_logits(features, used)
    change, of_view = _refit("view", features, found, logits, groups)
    if change is not None:
        weights, bias = change
        used = replace(
            used, view=used.view + weights, view_bias=used.view_bias + bias, version=version
        )
    kinds = ("zygoptera", "anisoptera")
    found = np.array([kinds.index(name) if name else -1 for name in suborders])
    odds = (features @ used.suborder.T + used.suborder_bias)[:, 0]
    logits = np.stack([np.zeros(len(odds)), odds], axis=1)
    change, of_suborder = _refit("suborder", features, found, logits, groups)
    if change is not None:
        weights, bias = change
        used = replace(
            used,
            suborder=used.suborder + weights[1:] - weights[:1],
            suborder_bias=used.suborder_bias + bias[1:] - bias[:1],
            version=version,
        )
    return used, (of_view, of_suborder)


def refit_boxes(
    features: Floats,
    *,
    found: Sequence[Box],
    corrected: Sequence[Box],
    groups: Sequence[str],
    heads: Heads | None = None,
    version: str = "refitted",
) -> tuple[Heads, Refit]:
    """Refit how the sides of the insect's box are moved, on corrected boxes.

    Parameters
    ----------
    features : float array, photos x 363
    found, corrected : sequences of boxes
        What the network found, before any head moved its sides, and what a person said.
    groups, heads, version
        As for ``refit_heads``.

    Returns
    -------
    Heads, Refit
        The heads in use, with the better box head if it is better, and what the refit came to.

    Raises
    ------
    ValueError
        If the lengths differ.
    """
    used = heads or view.shipped_heads()
    if features.ndim != 2 or not len(features) == len(found) == len(corrected) == len(groups):
        raise ValueError("features, boxes and groups must have one entry a photo")
    known, wanted = _sides(found), _sides(corrected)
    sizes = np.tile(known[:, 2:] - known[:, :2], 2)
    start = known + sizes * (features @ used.box.T + used.box_bias)
    before = after = _overlaps(start, wanted)
    kept, reason = False, _too_few(groups)
    if not reason:
        missing = np.clip((wanted - start) / sizes, -FARTHEST, FARTHEST)
        fold = folds_of(groups, FOLDS)
        held = np.array(
            [
                _overlaps(start + sizes * _held_out(features, missing, fold, penalty), wanted)
                for penalty in BOX_PENALTIES
            ]
        )  # penalties x photos
        after = np.empty_like(before)
        for k in sorted(set(fold.tolist())):  # the penalty is chosen without the fold it is for
            best = int(held[:, fold != k].mean(axis=1).argmax())
            after[fold == k] = held[best, fold == k]
        kept = _surely(after - before, fold)
        reason = BETTER if kept else NOT_BETTER
        if kept:
            penalty = BOX_PENALTIES[int(held.mean(axis=1).argmax())]
            weights, bias = _least_squares(features, missing, penalty)
            box, box_bias = used.box + weights, used.box_bias + bias
            used = replace(used, box=box, box_bias=box_bias, version=version)
    return used, Refit(
        head="box",
        photos=len(known),
        loss_before=1.0 - _mean(before),
        loss_after=1.0 - _mean(after),
        right_before=_mean(before >= CLOSE),
        right_after=_mean(after >= CLOSE),
        kept=kept,
        reason=reason,
    )


def _too_few(groups: Sequence[str]) -> str:
    """Why there is too little to learn from; empty if there is enough."""
    if len(groups) >= FEWEST and len(set(groups)) >= FEWEST_GROUPS:
        return ""
    return f"needs {FEWEST} photos in {FEWEST_GROUPS} groups, has {len(groups)}"


def _surely(gains: Floats, fold: Rows) -> bool:
    """Whether a gain is more than chance; a fold's photos hang together, so folds are counted."""
    gain = _sums(gains, fold)
    return float(gain.sum()) > float(np.sqrt(len(gain)) * gain.std())


def _held_out(features: Floats, missing: Floats, fold: Rows, penalty: float) -> Floats:
    given = np.empty_like(missing)
    for k in sorted(set(fold.tolist())):
        weights, bias = _least_squares(features[fold != k], missing[fold != k], penalty)
        given[fold == k] = features[fold == k] @ weights.T + bias
    return given


def _least_squares(x: Floats, y: Floats, penalty: float) -> tuple[Floats, Floats]:
    """Ridge regression on standardised features, its constant free: rows x features, rows."""
    mean, spread = x.mean(axis=0), x.std(axis=0)
    spread = np.where(spread > 1e-6, spread, np.inf)
    scaled = (x - mean) / spread
    kernel = scaled @ scaled.T + penalty * np.eye(len(x))
    weights = (scaled.T @ np.linalg.solve(kernel, y - y.mean(axis=0))).T / spread
    return weights, y.mean(axis=0) - weights @ mean


def _sides(boxes: Sequence[Box]) -> Floats:
    return np.array(boxes, dtype=np.float64).reshape(-1, 4)


def _overlaps(given: Floats, wanted: Floats) -> Floats:
    """Intersection over union of each box, n, 0 to 1."""
    pairs = zip(given.tolist(), wanted.tolist(), strict=True)
    return np.array([subject.overlap(tuple(one), tuple(other)) for one, other in pairs])


def _mean(values: Floats | NDArray[np.bool_]) -> float:
    return float(values.mean()) if len(values) else 0.0


def _refit(
    head: str,
    features: Floats,
    found: Rows,
    logits: Floats,
    groups: Sequence[str],
) -> tuple[tuple[Floats, Floats] | None, Refit]:
    known = np.flatnonzero(found >= 0)
    names = [groups[row] for row in known.tolist()]
    if reason := _too_few(names):
        loss, right = _scores(logits[known], found[known])
        return None, Refit(
            head=head,
            photos=len(known),
            loss_before=loss,
            loss_after=loss,
            right_before=right,
            right_after=right,
            kept=False,
            reason=reason,
        )
    x, y, start = features[known], found[known], logits[known]
    truth = np.eye(logits.shape[1])[y]
    fold = folds_of(names, FOLDS)
    held = np.zeros_like(start)
    for k in sorted(set(fold.tolist())):
        train, test = fold != k, fold == k
        penalty = _penalty(x[train], truth[train], start[train], fold[train])
        weights, bias = fit_softmax(x[train], truth[train], start[train], penalty=penalty)
        held[test] = start[test] + x[test] @ weights.T + bias
    before, after = log_losses(start, y), log_losses(held, y)
    better = _surely(before - after, fold) and _scores(held, y)[1] >= _scores(start, y)[1]
    penalty = _penalty(x, truth, start, fold)
    return (fit_softmax(x, truth, start, penalty=penalty) if better else None), Refit(
        head=head,
        photos=len(known),
        loss_before=float(before.mean()),
        loss_after=float(after.mean()),
        right_before=_scores(start, y)[1],
        right_after=_scores(held, y)[1],
        kept=better,
        reason=BETTER if better else NOT_BETTER,
    )


def _penalty(x: Floats, truth: Floats, start: Floats, fold: Rows) -> float:
    """The penalty with the least held-out loss among the rows given."""
    losses = []
    names = sorted(set(fold.tolist()))
    parts = [names[a:b] for a, b in pairwise(np.linspace(0, len(names), 4).astype(int).tolist())]
    for penalty in PENALTIES:
        loss = 0.0
        for part in parts:
            test = np.isin(fold, part)
            if test.all() or not test.any():
                continue
            weights, bias = fit_softmax(x[~test], truth[~test], start[~test], penalty=penalty)
            logits = start[test] + x[test] @ weights.T + bias
            loss += float(log_losses(logits, truth[test].argmax(axis=1)).sum())
        losses.append(loss)
    return PENALTIES[int(np.argmin(losses))]


def folds_of(groups: Sequence[str], count: int) -> Rows:
    """A fold number for each photo: groups, largest first, to the fold that is smallest so far."""
    members: dict[str, list[int]] = {}
    for row, name in enumerate(groups):
        members.setdefault(name, []).append(row)
    fold = np.zeros(len(groups), dtype=np.int64)
    sizes = [0] * count
    for name in sorted(members, key=lambda name: (-len(members[name]), name)):
        smallest = sizes.index(min(sizes))
        fold[members[name]] = smallest
        sizes[smallest] += len(members[name])
    return fold


def fit_softmax(
    x: Floats,
    truth: Floats,
    start: Floats,
    *,
    penalty: float,
    weight: Floats | None = None,
) -> tuple[Floats, Floats]:
    """Ridge-penalised softmax regression added to given logits.

    Parameters
    ----------
    x : float array, n x features
    truth : float array, n x classes
        Each row sums to 1.
    start : float array, n x classes
        Logits that hold without any evidence.
    penalty : float
        Factor of half the squared weights of the standardised features (and, a tenth of it, of
        the biases), against the summed loss.
    weight : float array, n, optional
        Weight of each row; 1 by default.

    Returns
    -------
    weights : classes x features, bias : classes
        To be applied to ``x`` as given and added to ``start``.
    """
    from scipy.optimize import minimize

    mean, spread = x.mean(axis=0), x.std(axis=0)
    scaled = (x - mean) / np.where(spread > 1e-6, spread, np.inf)
    rows = np.ones(len(x)) if weight is None else weight
    classes, columns = truth.shape[1], x.shape[1]

    def loss(flat: Floats) -> tuple[float, Floats]:
        weights = flat.reshape(classes, columns + 1)
        logits = start + scaled @ weights[:, :-1].T + weights[:, -1]
        logits = logits - logits.max(axis=1, keepdims=True)
        total = np.log(np.exp(logits).sum(axis=1))
        value = float((rows * (total - (truth * logits).sum(axis=1))).sum())
        slope = (np.exp(logits - total[:, None]) - truth) * rows[:, None]
        gradient = np.concatenate([slope.T @ scaled, slope.sum(axis=0)[:, None]], axis=1)
        held = weights * np.append(np.full(columns, penalty), penalty / 10)
        return value + float((held * weights).sum()) / 2, (gradient + held).ravel()

    found = minimize(loss, np.zeros(classes * (columns + 1)), jac=True, method="L-BFGS-B")
    weights = found.x.reshape(classes, columns + 1)
    plain = weights[:, :-1] / np.where(spread > 1e-6, spread, np.inf)
    return plain, weights[:, -1] - plain @ mean


def log_losses(logits: Floats, y: Rows) -> Floats:
    """Logarithmic loss of each row: minus the logarithm of the softmax of its true class."""
    shifted = logits - logits.max(axis=1, keepdims=True)
    total = np.log(np.exp(shifted).sum(axis=1))
    return np.asarray(total - shifted[np.arange(len(y)), y], dtype=np.float64)


def _scores(logits: Floats, y: Rows) -> tuple[float, float]:
    """Mean logarithmic loss and share right; both 0 without photos."""
    if not len(y):
        return 0.0, 0.0
    return float(log_losses(logits, y).mean()), float((logits.argmax(axis=1) == y).mean())


def _sums(values: Floats, fold: Rows) -> Floats:
    return np.array([values[fold == k].sum() for k in sorted(set(fold.tolist()))])
