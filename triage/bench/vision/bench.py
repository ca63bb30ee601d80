"""Measure seeing on folders of labelled photos: every figure with its interval.

Figures are for all photos, then for each folder, each suborder, each source with enough photos.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from triage.bench.focus.selective import SelectiveBlur, selective_blur
from triage.bench.labels import read_sets
from triage.bench.vision.figures import Figure, figures
from triage.bench.vision.order import Order, order_of
from triage.bench.vision.predictions import Prediction, predictions
from triage.bench.vision.sheet import write_sheet
from triage.workers.progress import Progress, silent

FEWEST = 10  # photos of a source that is shown by itself
HEADER = ("| what | value | 95 % interval | photos |", "|---|---|---|---|")


@dataclass(frozen=True, slots=True, kw_only=True)
class VisionFigures:
    """The figures of each part of the photos, and how the answers were come by."""

    parts: tuple[tuple[str, tuple[Figure, ...]], ...]
    cross_validated: int
    new: int
    trained_on: int
    blur: SelectiveBlur | None
    order: Order | None
    sheet: Path | None

    def lines(self) -> list[str]:
        """The report, as text lines with Markdown tables."""
        lines = [self._origin()]
        for name, part in self.parts:
            lines += ["", f"{name}", *HEADER, *(figure.row() for figure in part)]
        if self.blur is not None:
            lines += ["", *self._blur_lines(self.blur)]
        if self.order is not None:
            lines += ["", *self._order_lines(self.order)]
        if self.sheet is not None:
            lines += ["", f"Worst mistakes: {self.sheet}"]
        return lines

    def _origin(self) -> str:
        parts = []
        if self.cross_validated:
            parts.append(
                f"{self.cross_validated} photos by networks that had not seen them "
                "(the training's ten folds by group)"
            )
        if self.new:
            parts.append(f"{self.new} photos new to the shipped networks")
        if self.trained_on:
            parts.append(
                f"{self.trained_on} photos the shipped networks were trained on: "
                "TRAINING ERROR, says nothing about other photos"
            )
        return "Answers: " + "; ".join(parts) + "."

    def _blur_lines(self, blur: SelectiveBlur) -> list[str]:
        rows = (
            (
                "insect or background blurred, sigma 1.5 to 6, AUC",
                blur.strong,
                blur.strong_interval,
            ),
            ("the same, sigma 0.7 and 1.0, noise, JPEG", blur.fine, blur.fine_interval),
            ("the same, photos of 700 pixels and more", blur.fine_large, blur.fine_large_interval),
            ("sharp or soft by eye, AUC", blur.by_eye, blur.by_eye_interval),
        )
        lines = [
            "Focus; photos of the training by what was fitted without their fold, in the box found "
            + ("in each altered photo" if blur.looked_anew else "in the unaltered photo"),
            *HEADER,
        ]
        for name, value, (low, high) in rows:
            lines.append(f"| {name} | {value:.3f} | {low:.3f} to {high:.3f} | {blur.photos} |")
        return lines

    def _order_lines(self, order: Order) -> list[str]:
        lines = [
            "Order by usability; pairs of photos that their labels decide, in the right order",
            "| decided by | share | 95 % interval | pairs |",
            HEADER[1],
        ]
        for name, pairs, share, low, high in order.shares:
            lines.append(f"| {name} | {share:.3f} | {low:.3f} to {high:.3f} | {pairs:,} |")
        return [
            *lines,
            f"Surely good ({order.good}) against surely bad ({order.bad}), AUC: "
            f"{order.good_against_bad:.3f}",
        ]


def bench(
    folders: Sequence[Path],
    *,
    sheet: Path | None = None,
    focus: bool = False,
    networks: Path | None = None,
    training_error: bool = False,
    draws: int = 1000,
    progress: Progress = silent,
) -> VisionFigures:
    """Measure seeing on labelled photos.

    Parameters
    ----------
    folders : sequence of Path
        Folders with photos and labels.csv (see ``triage.bench.labels``); nothing is written there.
    sheet : Path, optional
        Folder for the sheet of the worst mistakes. It shows small pictures of the photos: mind
        their licences before passing it on.
    focus : bool
        Also measure focus on selectively blurred copies, and the order of usability (minutes).
    networks : Path, optional
        The networks of the folds, to look at each of these copies anew (see ``selective_blur``).
    training_error : bool
        Answer with the shipped networks even for photos they were trained on.
    draws : int
        Times the groups are drawn anew for the intervals.
    progress : callable
        Called with the photos done and their number.

    Raises
    ------
    TableError
        If the labels cannot be read.
    SourceError
        If a labelled photo is missing or cannot be read.
    """
    read = read_sets(folders)
    rows = predictions(read, training_error=training_error, progress=progress)
    parts = [("All photos", rows)]
    for folder in folders if len(folders) > 1 else ():
        parts.append((f"Folder {folder.name}", [row for row in rows if row.label.folder == folder]))
    for suborder in ("anisoptera", "zygoptera"):
        kept = [row for row in rows if row.label.suborder == suborder]
        parts.append((f"Suborder {suborder.capitalize()}", kept))
    counts = Counter(row.label.source for row in rows)
    for source, count in counts.most_common():
        if count >= FEWEST and source:
            kept = [row for row in rows if row.label.source == source]
            parts.append((f"Source {source}", kept))
    return VisionFigures(
        parts=tuple((name, _known(kept, draws)) for name, kept in parts if kept),
        cross_validated=sum(row.cross_validated for row in rows),
        new=sum(not row.cross_validated and not row.seen for row in rows),
        trained_on=sum(row.seen for row in rows),
        blur=selective_blur(read, networks=networks) if focus else None,
        order=order_of(read, draws=draws) if focus else None,
        sheet=write_sheet(rows, sheet) if sheet is not None else None,
    )


def _known(rows: Sequence[Prediction], draws: int) -> tuple[Figure, ...]:
    """The figures that some photo bears on."""
    return tuple(one for one in figures(rows, draws=draws) if one.value == one.value)
