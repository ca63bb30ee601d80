"""Show the worst mistakes on one HTML page."""

from __future__ import annotations

import base64
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from triage.analysis import images
from triage.analysis.subject import overlap
from triage.analysis.view import VIEWS, Box
from triage.bench.vision.figures import kind_told, suborder_told
from triage.bench.vision.predictions import Prediction
from triage.standards.data_files import filled

SHOWN = 24  # mistakes of a kind
SIDE = 260  # px of a picture
TRUE, GIVEN = (40, 140, 60), (190, 40, 40)  # colours of the hand-drawn and the found box


def write_sheet(rows: Sequence[Prediction], folder: Path) -> Path:
    """Write ``vision_mistakes.html`` into ``folder`` and return its path."""
    page = filled(
        "triage.bench.vision",
        "mistakes.html",
        kinds=_kinds(rows),
        shown=SHOWN,
        side=SIDE,
        picture=_picture,
        words=_words,
    )
    folder.mkdir(parents=True, exist_ok=True)
    file = folder / "vision_mistakes.html"
    file.write_text(page, encoding="utf-8")
    return file


def _kinds(rows: Sequence[Prediction]) -> list[tuple[str, list[Prediction]]]:
    """Mistakes by kind, the most confident first."""
    odonates = [row for row in rows if row.label.odonate]
    missed = [row for row in odonates if row.odonate < 0.5]
    false = [row for row in rows if not row.label.odonate and row.odonate >= 0.5]
    boxed = [row for row in odonates if row.label.box and _overlap(row) < 0.5]
    sided = [
        row for row in odonates if row.label.suborder and suborder_told(row) != row.label.suborder
    ]
    viewed = [
        row
        for row in odonates
        if row.label.view and row.label.sure and _view(row) != row.label.view
    ]
    other = [
        row for row in rows if kind_told(row) != row.label.kind and row not in (*missed, *false)
    ]
    return [
        ("Odonate not seen as one", sorted(missed, key=lambda row: row.odonate)),
        ("Taken for an odonate", sorted(false, key=lambda row: -row.odonate)),
        ("Box far from the insect's", sorted(boxed, key=_overlap)),
        ("Wrong suborder", sorted(sided, key=lambda row: -abs(row.anisoptera - 0.5))),
        ("Wrong view, label sure", sorted(viewed, key=lambda row: -max(row.views))),
        ("Wrong kind, neither an odonate", other),
    ]


def _overlap(row: Prediction) -> float:
    return overlap(row.box, row.label.box) if row.label.box else 1.0


def _view(row: Prediction) -> str:
    return VIEWS[int(np.argmax(row.views))]


def _picture(row: Prediction) -> str:
    """The photo with both boxes, small, for a page."""
    picture = images.shrink(row.label.rgb(), SIDE).copy()
    for box, colour in ((row.label.box, TRUE), (row.box, GIVEN)):
        if box:
            _draw(picture, box, colour)
    return base64.b64encode(images.as_jpeg(picture, quality=80)).decode("ascii")


def _words(row: Prediction) -> str:
    return (
        f"{row.label.file}: {row.label.suborder or 'no odonate'} {row.label.view}; found "
        f"{row.odonate:.2f} odonate, {row.anisoptera:.2f} Anisoptera, {_view(row)} "
        f"{max(row.views):.2f}, overlap {_overlap(row):.2f}, {row.kind}. {row.label.notes}"
    )


def _draw(picture: images.Pixels, box: Box, colour: tuple[int, int, int]) -> None:
    import cv2

    height, width = picture.shape[:2]
    low = (round(box[0] * (width - 1)), round(box[1] * (height - 1)))
    high = (round(box[2] * (width - 1)), round(box[3] * (height - 1)))
    cv2.rectangle(picture, low, high, colour, 2)
