"""Measure seeing on folders of labelled photos: every figure with its interval.

Figures are for all photos, then for each folder, each suborder, each source with enough photos.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

from triage.bench.figures import DRAWS, Figure, table
from triage.bench.labels import Labelled, read_sets
from triage.bench.vision.figures import figures
from triage.bench.vision.order import order_of
from triage.bench.vision.predictions import predictions
from triage.bench.vision.selective import selective_blur
from triage.bench.vision.sheet import write_sheet
from triage.standards.counting import counted
from triage.workers.progress import Progress, silent

FEWEST = 10  # photos of a source that is shown by itself


class VisionFigures(NamedTuple):
    """The figures of each part of the photos, and how the answers were come by."""

    parts: list[tuple[str, list[Figure]]]
    cross_validated: int
    new: int
    focus: list[str]
    sheet: Path | None

    def lines(self) -> list[str]:
        """The report, as text lines with Markdown tables."""
        lines = [self._origin()]
        for name, part in self.parts:
            lines += ["", name, *table(part)]
        lines += self.focus
        if self.sheet is not None:
            lines += ["", f"Worst mistakes: {self.sheet}"]
        return lines

    def _origin(self) -> str:
        counts = {
            "by networks that had not seen them (the training's ten folds by group)": (
                self.cross_validated
            ),
            "new to the shipped networks": self.new,
        }
        parts = (f"{counted(n, 'photo')} {what}" for what, n in counts.items() if n)
        return f"Answers: {'; '.join(parts)}."


def bench(
    folders: Sequence[Path],
    *,
    sheet: Path | None = None,
    focus: bool = False,
    draws: int = DRAWS,
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
    rows = predictions(read, progress=progress)
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
        parts=[(name, figures(kept, draws=draws)) for name, kept in parts if kept],
        cross_validated=sum(row.cross_validated for row in rows),
        new=sum(not row.cross_validated for row in rows),
        focus=_focus_lines(read, draws) if focus else [],
        sheet=write_sheet(rows, sheet) if sheet is not None else None,
    )


def _focus_lines(labels: Sequence[Labelled], draws: int) -> list[str]:
    return [
        "",
        "Focus; photos of the training by what was fitted without their fold, in the box found "
        "in the unaltered photo",
        *table(selective_blur(labels)),
        "",
        *order_of(labels, draws=draws).lines(),
    ]
