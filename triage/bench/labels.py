"""Read tables of labelled photos (labels.csv), one record a photo, and divide them into folds.

Columns: file, source, group (photos to keep together in cross-validation), is_odonate (0 or 1),
suborder, view, view_confidence (sure or unsure), subject_box and body_box (x0;y0;x1;y1, fractions
of the upright photo), focus, notes, kind. Only file and is_odonate must be there; an empty field
means not labelled. Where there is no column kind, the first words of the notes tell it.
"""

from __future__ import annotations

import csv
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from triage.analysis import images
from triage.analysis.images import Pixels
from triage.analysis.refitting import folds_of
from triage.analysis.view import KINDS, VIEWS, Box
from triage.errors import TableError
from triage.photos.loose_files import LooseFile, content_of

FOLDS = 10  # of the training's cross-validation
ADULTS = ("adult", "pair", "several")  # kinds of the column that show an adult and nothing else


@dataclass(frozen=True, slots=True, kw_only=True)
class Labelled:
    """One labelled photo; empty text or None where the table says nothing."""

    file: str
    folder: Path
    source: str
    group: str
    odonate: bool
    suborder: str
    view: str
    sure: bool
    box: Box | None
    body_box: Box | None
    focus: str
    notes: str
    kind: str

    @property
    def path(self) -> Path:
        """Where the photo lies."""
        return self.folder / self.file

    def content(self) -> bytes:
        """The bytes of the photo; a SourceError if it is missing or cannot be read."""
        return content_of(LooseFile(str(self.path), self.path))

    def rgb(self) -> Pixels:
        """The upright photo; a SourceError if it cannot be read."""
        return images.decode(self.content(), name=self.file).rgb

    @property
    def emerging(self) -> bool:
        """Whether an adult is seen beside the skin it left."""
        return self.odonate and (self.kind == "exuvia" or "emergence" in self.notes)

    @property
    def pair(self) -> bool:
        """Whether the notes call it a pair (mating wheel or tandem)."""
        return self.notes.startswith("pair")

    @property
    def hand(self) -> bool:
        """Whether a hand is seen, whatever it holds."""
        return self.kind == "hand" or "hand" in self.notes

    @property
    def several(self) -> bool:
        """Whether the notes say that more than one animal is seen apart."""
        return self.notes.startswith("multi")


def read_labels(table: Path) -> list[Labelled]:
    """Read the table, in its own order.

    Raises
    ------
    TableError
        If the table can't be read, lacks a needed column, or a row's value makes no sense; the
        message names the line and the column.
    """
    try:
        with table.open(encoding="utf-8-sig", newline="") as lines:
            rows = csv.DictReader(lines)
            missing = {"file", "is_odonate"} - set(rows.fieldnames or ())
            if missing:
                raise _refused(str(table), f"it has no column {', '.join(sorted(missing))}")
            return [_labelled(row, table, rows.line_num) for row in rows]
    except (OSError, UnicodeDecodeError, csv.Error) as problem:
        raise _refused(str(table), f"it cannot be read as a table ({problem})") from problem


def read_sets(folders: Sequence[Path]) -> list[Labelled]:
    """The labelled photos of several folders, each with its own labels.csv, in their order."""
    return [label for folder in folders for label in read_labels(folder / "labels.csv")]


def _refused(where: str, what: str) -> TableError:
    return TableError(what, failing=where, next_step="Correct the table and run again.")


def _labelled(row: dict[str, str | None], table: Path, line: int) -> Labelled:
    def text(name: str) -> str:
        return (row.get(name) or "").strip()

    where = f"{table}, line {line}"
    if text("is_odonate") not in {"0", "1"}:
        raise _refused(where, f"is_odonate must be 0 or 1, not {text('is_odonate')!r}")
    if text("view") not in {"", *VIEWS}:
        raise _refused(where, f"view must be one of {', '.join(VIEWS)}")
    if text("suborder") not in {"", "anisoptera", "zygoptera"}:
        raise _refused(where, "suborder must be anisoptera or zygoptera")
    odonate, notes = text("is_odonate") == "1", text("notes")
    return Labelled(
        file=text("file"),
        folder=table.parent,
        source=text("source"),
        group=text("group") or text("source") or text("file"),
        odonate=odonate,
        suborder=text("suborder"),
        view=text("view"),
        sure=text("view_confidence") != "unsure",
        box=_box(text("subject_box"), f"{where}: subject_box"),
        body_box=_box(text("body_box"), f"{where}: body_box"),
        focus=text("focus"),
        notes=notes,
        kind=_kind(text("kind"), odonate, notes, where),
    )


def _kind(given: str, odonate: bool, notes: str, where: str) -> str:
    """One of ``KINDS``; a hand that holds an adult shows an adult."""
    if given in ADULTS or (odonate and given in {"", "hand"}):
        return "adult"
    if not given:
        return "other insect" if notes.startswith("other insect") else "no insect"
    kind = "exuvia" if given == "larva" else given
    if kind not in KINDS:
        raise _refused(where, f"kind must be one of {', '.join((*ADULTS, *KINDS[1:], 'larva'))}")
    return kind


def _box(text: str, where: str) -> Box | None:
    if not text:
        return None
    try:
        x0, y0, x1, y1 = (float(part) for part in text.split(";"))
    except ValueError as problem:
        raise _refused(where, f"a box must be x0;y0;x1;y1, not {text!r}") from problem
    if not (0 <= x0 < x1 <= 1 and 0 <= y0 < y1 <= 1):
        raise _refused(where, f"a box must lie in the photo, not {text!r}")
    return x0, y0, x1, y1


def folds(labels: list[Labelled], count: int) -> list[list[int]]:
    """Divide the rows into ``count`` folds of like size, groups kept whole.

    Groups are dealt out from the largest to the smallest, each to the fold that has fewest
    photos so far: the division is the same on every machine.
    """
    fold = folds_of([label.group for label in labels], count)
    held = [np.flatnonzero(fold == number).tolist() for number in range(count)]
    return [rows for rows in held if rows]
