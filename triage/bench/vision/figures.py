"""Answer each question about predictions with one number and its interval.

Intervals are the 2.5 and 97.5 percent points over groups of photos drawn with replacement
(bootstrap, Efron 1979), since photos of one group are alike.

References
----------
B. Efron, 1979. Bootstrap methods: another look at the jackknife. Annals of Statistics 7:1-26.
doi:10.1214/aos/1176344552.
C. Guo, G. Pleiss, Y. Sun and K. Q. Weinberger, 2017. On calibration of modern neural networks.
ICML 2017. arXiv:1706.04599 (expected calibration error).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from triage.analysis.subject import overlap
from triage.analysis.view import KINDS, VIEWS
from triage.bench.focus.selective import area_under_curve
from triage.bench.vision.predictions import Prediction

Floats = NDArray[np.float64]
BINS = 10  # of confidence, for the calibration error
DRAWN_TRUE = 50  # times that the truth is drawn from the probabilities
NAMED = ("dorsal", "lateral", "oblique")  # the views of the macro-F1; the others are too few
Question = Callable[[Sequence[Prediction]], float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """One answer: NaN where no photo bears on it. ``photos`` is how many do."""

    name: str
    value: float
    low: float
    high: float
    photos: int

    def row(self) -> str:
        """One row of the table."""
        known = self.low == self.low  # not a NaN
        interval = f"{self.low:.3f} to {self.high:.3f}" if known else "one group, none"
        return f"| {self.name} | {self.value:.3f} | {interval} | {self.photos} |"


def odonate_area(rows: Sequence[Prediction]) -> float:
    """AUC of odonate or not: the chance that an odonate scores higher than what is none."""
    scores = np.array([row.odonate for row in rows])
    return area_under_curve(scores, np.array([row.label.odonate for row in rows], dtype=bool))


def odonate_recall(rows: Sequence[Prediction]) -> float:
    """Share of odonates at 0.5 or more."""
    return _mean([row.odonate >= 0.5 for row in _odonates(rows)])


def odonate_false(rows: Sequence[Prediction]) -> float:
    """Share of photos without an odonate at 0.5 or more."""
    return _mean([row.odonate >= 0.5 for row in rows if not row.label.odonate])


def box_overlap(rows: Sequence[Prediction]) -> float:
    """Mean intersection over union with the hand-drawn box of the odonate; skins don't count."""
    return _mean([overlap(row.box, row.label.box) for row in _odonates(rows) if row.label.box])


def body_overlap(rows: Sequence[Prediction]) -> float:
    """The same for the body."""
    return _mean(
        [overlap(row.body_box, row.label.body_box) for row in _odonates(rows) if row.label.body_box]
    )


def suborder_right(rows: Sequence[Prediction]) -> float:
    """Share of odonates whose suborder is right."""
    return _mean(
        [
            (row.anisoptera >= 0.5) == (row.label.suborder == "anisoptera")
            for row in _odonates(rows)
            if row.label.suborder
        ]
    )


def sides_right(rows: Sequence[Prediction]) -> float:
    """Balanced accuracy of dorsal against lateral, where the label is sure."""
    shares = []
    for name in ("dorsal", "lateral"):
        right = [
            (row.views[0] >= row.views[1]) == (name == "dorsal")
            for row in rows
            if _shows(row, (name,)) and row.label.sure
        ]
        if not right:
            return float("nan")
        shares.append(np.mean(right))
    return float(np.mean(shares))


def views_f1(rows: Sequence[Prediction]) -> float:
    """Macro-F1 of dorsal, lateral and oblique among each other."""
    columns = [VIEWS.index(name) for name in NAMED]
    kept = [row for row in rows if _shows(row, NAMED)]
    if not kept:
        return float("nan")
    given = np.array([NAMED[int(np.argmax([row.views[k] for k in columns]))] for row in kept])
    true = np.array([row.label.view for row in kept])
    scores = []
    for name in NAMED:
        both = int(((given == name) & (true == name)).sum())
        scores.append(2 * both / max(int((given == name).sum() + (true == name).sum()), 1))
    return float(np.mean(scores))


def views_f1_sure(rows: Sequence[Prediction]) -> float:
    """The same where the label is sure."""
    return views_f1([row for row in rows if row.label.sure])


def view_calibration(rows: Sequence[Prediction]) -> float:
    """Expected calibration error of the likeliest view, ten bins of equal width."""
    kept = [row for row in rows if _shows(row, VIEWS)]
    if not kept:
        return float("nan")
    right = [VIEWS[int(np.argmax(row.views))] == row.label.view for row in kept]
    return _calibration(np.array([max(row.views) for row in kept]), np.array([right]))


def view_calibration_by_chance(rows: Sequence[Prediction]) -> float:
    """What the error would be, in the mean, if each probability were exactly true."""
    kept = [row for row in rows if _shows(row, VIEWS)]
    if not kept:
        return float("nan")
    sure = np.array([max(row.views) for row in kept])
    random = np.random.default_rng(0)
    return _calibration(sure, random.random((DRAWN_TRUE, len(sure))) < sure)


def _calibration(sure: NDArray[np.float64], right: NDArray[np.bool_]) -> float:
    """Error of probabilities (photos) against what came true (draws x photos), mean over draws."""
    bins = np.minimum((sure * BINS).astype(int), BINS - 1)
    each = np.eye(BINS)[bins]
    return float(np.abs((sure - right) @ each).sum(axis=1).mean() / len(sure))


def _shows(row: Prediction, views: Sequence[str]) -> bool:
    """Whether the photo shows an adult in one of these views."""
    return row.label.odonate and row.label.view in views


def _odonates(rows: Sequence[Prediction]) -> list[Prediction]:
    """The photos of adults."""
    return [row for row in rows if row.label.odonate]


def pairs_found(rows: Sequence[Prediction]) -> float:
    """AUC of pair or single among odonates."""
    insects = _odonates(rows)
    scores = np.array([row.pair for row in insects])
    return area_under_curve(scores, np.array([row.label.pair for row in insects], dtype=bool))


def several_found(rows: Sequence[Prediction]) -> float:
    """Share of photos of several odonates apart in which a second one is offered."""
    return _mean([row.others > 0 for row in rows if row.label.several])


def several_false(rows: Sequence[Prediction]) -> float:
    """Share of photos of one odonate, or one pair, in which a second one is offered."""
    return _mean([row.others > 0 for row in rows if row.label.odonate and not row.label.several])


def kind_told(row: Prediction) -> str:
    """The kind that a prediction names, a pair being adults too."""
    return "adult" if row.kind == "pair" else row.kind


def kinds_right(rows: Sequence[Prediction]) -> float:
    """Balanced accuracy of the kinds that enough photos show; exuviae are too few."""
    shares = []
    for name in KINDS[:-1]:
        right = [kind_told(row) == name for row in rows if row.label.kind == name]
        if not right:
            return float("nan")
        shares.append(np.mean(right))
    return float(np.mean(shares))


QUESTIONS: tuple[tuple[str, Question], ...] = (
    ("odonate or not, AUC", odonate_area),
    ("odonate at 0.5, recall", odonate_recall),
    ("odonate at 0.5, false share", odonate_false),
    ("box, mean IoU", box_overlap),
    ("body box, mean IoU", body_overlap),
    ("suborder, share right", suborder_right),
    ("sure dorsal or lateral, balanced accuracy", sides_right),
    ("dorsal, lateral, oblique, macro-F1", views_f1),
    ("the same, sure labels", views_f1_sure),
    ("view, expected calibration error", view_calibration),
    ("the same by chance, if all were true", view_calibration_by_chance),
    ("pair or single, AUC", pairs_found),
    ("adult, other insect, hand, page, no insect, balanced accuracy", kinds_right),
    ("several insects, share with a second box", several_found),
    ("one insect or pair, share with a second box", several_false),
)


def figures(rows: Sequence[Prediction], *, draws: int = 1000, seed: int = 0) -> list[Figure]:
    """Every question's answer with its interval."""
    members: dict[str, list[Prediction]] = {}
    for row in rows:
        members.setdefault(row.label.group, []).append(row)
    names = sorted(members)
    random = np.random.default_rng(seed)
    values: list[list[float]] = [[] for _ in QUESTIONS]
    for _ in range(draws if len(names) > 1 else 0):
        drawn = [
            row for k in random.integers(0, len(names), len(names)) for row in members[names[k]]
        ]
        for held, (_, question) in zip(values, QUESTIONS, strict=True):
            held.append(question(drawn))
    made = []
    for (name, question), held in zip(QUESTIONS, values, strict=True):
        known = np.array([value for value in held if not np.isnan(value)])
        low, high = np.percentile(known, (2.5, 97.5)) if len(known) else (np.nan, np.nan)
        made.append(
            Figure(
                name=name,
                value=question(rows),
                low=float(low),
                high=float(high),
                photos=_bearing(name, rows),
            )
        )
    return made


def _bearing(name: str, rows: Sequence[Prediction]) -> int:
    """How many photos bear on a question."""
    if name == "odonate or not, AUC" or name.startswith("adult"):
        return len(rows)
    if name.endswith("false share"):
        return sum(not row.label.odonate for row in rows)
    if name.startswith("several"):
        return sum(row.label.several for row in rows)
    if name.startswith("one"):
        return sum(row.label.odonate and not row.label.several for row in rows)
    if name.startswith("sure"):
        return sum(_shows(row, NAMED[:2]) and row.label.sure for row in rows)
    if name.startswith("dorsal"):
        return sum(_shows(row, NAMED) for row in rows)
    if name == "the same, sure labels":
        return sum(_shows(row, NAMED) and row.label.sure for row in rows)
    return len(_odonates(rows))


def _mean(values: Sequence[float | bool]) -> float:
    return float(np.mean(values)) if values else float("nan")
