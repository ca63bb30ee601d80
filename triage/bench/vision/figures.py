"""Answer each question about predictions with one number, from the photos that bear on it.

References
----------
C. Guo, G. Pleiss, Y. Sun and K. Q. Weinberger, 2017. On calibration of modern neural networks.
ICML 2017. arXiv:1706.04599 (expected calibration error).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from triage.analysis.subject import overlap
from triage.analysis.view import KINDS, VIEWS
from triage.bench.figures import DRAWS, NONE, Figure, Floats, area_under_curve, figure
from triage.bench.vision.predictions import Prediction

BINS = 10  # of confidence, for the calibration error
DRAWN_TRUE = 50  # times that the truth is drawn from the probabilities
NAMED = ("dorsal", "lateral", "oblique")  # the views of the macro-F1; the others are too few
Predictions = Sequence[Prediction]
Bears = Callable[[Prediction], object]


class Question(NamedTuple):
    """What is asked, of which photos, and the answer that some of these give."""

    name: str
    bears: Bears
    answer: Callable[[Predictions], float]

    def value(self, rows: Predictions) -> float:
        """The answer, NaN where no photo bears on it."""
        kept = [row for row in rows if self.bears(row)]
        return self.answer(kept) if kept else NONE


def _adult(row: Prediction) -> bool:
    """Whether the photo shows an adult: a labelled skin has a box, a view, a suborder, too."""
    return row.label.odonate


def _adult_with(what: str) -> Bears:
    """Whether it shows an adult that is labelled so far."""
    return lambda row: _adult(row) and getattr(row.label, what)


def _shows(row: Prediction, views: Sequence[str], *, sure: bool = False) -> bool:
    """Whether it shows an adult in one of these views, surely if that is asked."""
    return _adult(row) and row.label.view in views and (row.label.sure or not sure)


def _share(right: Callable[[Prediction], float]) -> Callable[[Predictions], float]:
    return lambda rows: float(np.mean([right(row) for row in rows]))


def _overlap(box: str) -> Callable[[Predictions], float]:
    """Mean intersection over union of the found box with the one drawn by hand."""
    return _share(lambda row: overlap(getattr(row, box), getattr(row.label, box)))


def _area(
    score: Callable[[Prediction], float], better: Callable[[Prediction], bool]
) -> Callable[[Predictions], float]:
    return lambda rows: area_under_curve(
        np.array([score(row) for row in rows]), np.array([better(row) for row in rows], dtype=bool)
    )


def _balanced(
    names: Sequence[str], truth: Callable[[Prediction], str], told: Callable[[Prediction], str]
) -> Callable[[Predictions], float]:
    """The mean over the names of the share told rightly; NaN where one is missing."""

    def mean(rows: Predictions) -> float:
        by_name = [[told(row) == name for row in rows if truth(row) == name] for name in names]
        return float(np.mean([np.mean(right) for right in by_name])) if all(by_name) else NONE

    return mean


def _likeliest(row: Prediction, views: Sequence[str] = VIEWS) -> str:
    return max(views, key=lambda name: row.views[VIEWS.index(name)])


def _views_f1(rows: Predictions) -> float:
    """Macro-F1 of the named views among each other."""
    given = np.array([_likeliest(row, NAMED) for row in rows])
    true = np.array([row.label.view for row in rows])
    scores = []
    for name in NAMED:
        both = int(((given == name) & (true == name)).sum())
        scores.append(2 * both / max(int((given == name).sum() + (true == name).sum()), 1))
    return float(np.mean(scores))


def _view_calibration(rows: Predictions) -> float:
    """Expected calibration error of the likeliest view, ten bins of equal width."""
    right = [_likeliest(row) == row.label.view for row in rows]
    return _calibration(np.array([max(row.views) for row in rows]), np.array([right]))


def _view_calibration_by_chance(rows: Predictions) -> float:
    """What the error would be, in the mean, if each probability were exactly true."""
    sure = np.array([max(row.views) for row in rows])
    random = np.random.default_rng(0)
    return _calibration(sure, random.random((DRAWN_TRUE, len(sure))) < sure)


def _calibration(sure: Floats, right: NDArray[np.bool_]) -> float:
    """Error of probabilities (photos) against what came true (draws x photos), mean over draws."""
    bins = np.minimum((sure * BINS).astype(int), BINS - 1)
    each = np.eye(BINS)[bins]
    return float(np.abs((sure - right) @ each).sum(axis=1).mean() / len(sure))


def kind_told(row: Prediction) -> str:
    """The kind that a prediction names, a pair being adults too."""
    return "adult" if row.kind == "pair" else row.kind


def suborder_told(row: Prediction) -> str:
    """The suborder that a prediction names."""
    return "anisoptera" if row.anisoptera >= 0.5 else "zygoptera"


QUESTIONS = (
    Question(
        "odonate or not, AUC",
        lambda row: True,
        _area(lambda row: row.odonate, lambda row: row.label.odonate),
    ),
    Question("odonate at 0.5, recall", _adult, _share(lambda row: row.odonate >= 0.5)),
    Question(
        "odonate at 0.5, false share",
        lambda row: not _adult(row),
        _share(lambda row: row.odonate >= 0.5),
    ),
    Question(
        "box, mean IoU",
        _adult_with("box"),
        _overlap("box"),
    ),
    Question(
        "body box, mean IoU",
        _adult_with("body_box"),
        _overlap("body_box"),
    ),
    Question(
        "suborder, share right",
        _adult_with("suborder"),
        _share(lambda row: suborder_told(row) == row.label.suborder),
    ),
    Question(
        "sure dorsal or lateral, balanced accuracy",
        lambda row: _shows(row, NAMED[:2], sure=True),
        _balanced(NAMED[:2], lambda row: row.label.view, lambda row: _likeliest(row, NAMED[:2])),
    ),
    Question("dorsal, lateral, oblique, macro-F1", lambda row: _shows(row, NAMED), _views_f1),
    Question("the same, sure labels", lambda row: _shows(row, NAMED, sure=True), _views_f1),
    Question("view, expected calibration error", lambda row: _shows(row, VIEWS), _view_calibration),
    Question(
        "the same by chance, if all were true",
        lambda row: _shows(row, VIEWS),
        _view_calibration_by_chance,
    ),
    Question(
        "pair or single, AUC", _adult, _area(lambda row: row.pair, lambda row: row.label.pair)
    ),
    Question(
        "adult, other insect, hand, page, no insect, balanced accuracy",
        lambda row: True,
        _balanced(KINDS[:-1], lambda row: row.label.kind, kind_told),  # exuviae are too few
    ),
    Question(
        "several insects, share with a second box",
        lambda row: row.label.several,
        _share(lambda row: row.others > 0),
    ),
    Question(
        "one insect or pair, share with a second box",
        lambda row: _adult(row) and not row.label.several,
        _share(lambda row: row.others > 0),
    ),
)


def figures(rows: Predictions, *, draws: int = DRAWS) -> list[Figure]:
    """Every question's answer with its interval."""
    groups = [row.label.group for row in rows]
    return [
        figure(
            one.name,
            groups,
            lambda drawn, one=one: one.value([rows[at] for at in drawn]),  # type: ignore[misc]
            count=sum(bool(one.bears(row)) for row in rows),
            draws=draws,
        )
        for one in QUESTIONS
    ]
