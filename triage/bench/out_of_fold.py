"""What networks that had not seen a labelled photo said of it.

The shipped networks were trained on labelled photos. For each of these a table, made in training,
keeps its fold and the answers of networks trained without that fold, by the digest of the file;
the photos themselves are not distributed.
"""

from __future__ import annotations

import csv
import hashlib
from functools import cache
from importlib import resources

from triage.analysis.view import Outline


@cache
def out_of_fold() -> dict[str, dict[str, str]]:
    """The table's rows by the digest of the file."""
    file = resources.files("triage.analysis.models") / "out_of_fold.csv"
    with file.open("r", encoding="utf-8") as lines:
        return {row["sha256"]: row for row in csv.DictReader(lines)}


def row_of(content: bytes) -> dict[str, str] | None:
    """The row of a photo, or None for one that is new to the shipped networks."""
    return out_of_fold().get(hashlib.sha256(content).hexdigest())


def box_of(text: str) -> tuple[float, float, float, float]:
    """A box as the table writes it."""
    x0, y0, x1, y1 = (float(side) for side in text.split(";"))
    return x0, y0, x1, y1


def outline_of(text: str) -> Outline:
    """An outline as the table writes it."""
    return tuple(
        (float(x), float(y)) for x, _, y in (point.partition(";") for point in text.split())
    )
