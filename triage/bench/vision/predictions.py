"""Say what networks that had not seen them make of labelled photos.

For a photo that the shipped networks were trained on, the answer of a network that had not seen
it is read from the table made in training (ten folds, groups kept whole). Any other photo is
looked at by the shipped networks, to which it is new.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from triage.analysis import subject, view
from triage.analysis.view import VIEWS, Box
from triage.bench.labels import Labelled
from triage.bench.out_of_fold import box_of, row_of
from triage.workers.progress import Progress, silent


@dataclass(frozen=True, slots=True, kw_only=True)
class Prediction:
    """What is said of one photo; ``cross_validated`` if a network of the training's folds did."""

    label: Labelled
    odonate: float
    anisoptera: float
    pair: float
    views: tuple[float, ...]
    box: Box
    body_box: Box
    others: int
    kind: str
    cross_validated: bool


def predictions(
    labels: Sequence[Labelled],
    *,
    progress: Progress = silent,
) -> list[Prediction]:
    """One prediction a label, in their order.

    Parameters
    ----------
    labels : sequence of Labelled
    progress : callable
        Called with the photos done and their number.

    Raises
    ------
    SourceError
        If a labelled file is missing or is no photo; the message names it.
    """
    found = []
    for number, label in enumerate(labels, start=1):
        found.append(_prediction(label))
        progress("looking", number, len(labels))
    return found


def _prediction(label: Labelled) -> Prediction:
    content = label.content()
    row = row_of(content)
    if row is not None:
        return _from_table(label, row)
    seen = subject.look_at(label.rgb())
    features = view.stored_features(seen.features)
    return Prediction(
        label=label,
        odonate=seen.odonate,
        anisoptera=seen.anisoptera,
        pair=float(view.pair_probability(features, view.shipped_heads())),
        views=(seen.p_dorsal, seen.p_lateral, seen.p_anterior, seen.p_oblique, seen.p_other),
        box=seen.box,
        body_box=seen.body_box,
        others=len(seen.other_boxes),
        kind=seen.kind,
        cross_validated=False,
    )


def _from_table(label: Labelled, row: dict[str, str]) -> Prediction:
    return Prediction(
        label=label,
        odonate=float(row["odonate"]),
        anisoptera=float(row["anisoptera"]),
        pair=float(row["pair"]),
        views=tuple(float(row[f"p_{name}"]) for name in VIEWS),
        box=box_of(row["box"]),
        body_box=box_of(row["body_box"]),
        others=len(row["other_boxes"].split()),
        kind=row["kind"],
        cross_validated=True,
    )
