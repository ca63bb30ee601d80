"""Show the worst mistakes on one HTML page."""

from __future__ import annotations

import base64
from collections.abc import Sequence
from html import escape
from pathlib import Path

import numpy as np

from triage.analysis import images
from triage.analysis.subject import overlap
from triage.analysis.view import VIEWS, Box
from triage.bench.vision.figures import kind_told, suborder_told
from triage.bench.vision.predictions import Prediction

SHOWN = 24  # mistakes of a kind
SIDE = 260  # px of a picture
TRUE, GIVEN = (40, 140, 60), (190, 40, 40)  # colours of the hand-drawn and the found box
STYLE = (
    "body{font:15px/1.4 sans-serif;margin:1rem;color:#222;background:#fff}"
    "ul{display:flex;flex-wrap:wrap;gap:1rem;list-style:none;padding:0}"
    f"li{{width:{SIDE}px;max-width:100%}}img{{max-width:100%;display:block}}"
)


def write_sheet(rows: Sequence[Prediction], folder: Path) -> Path:
    """Write ``vision_mistakes.html`` into ``folder`` and return its path."""
    parts = [
        "<!doctype html><html lang=en><meta charset=utf-8>",
        "<meta name=viewport content='width=device-width'>",
        f"<title>Worst mistakes</title><style>{STYLE}</style><h1>Worst mistakes</h1>",
        "<p>Green: drawn by hand. Red: found. The photos are embedded: mind their licences.</p>",
    ]
    for title, worst in _kinds(rows):
        parts.append(f"<h2>{escape(title)} ({len(worst)})</h2><ul>")
        parts += [_item(row) for row in worst[:SHOWN]]
        parts.append("</ul>")
    folder.mkdir(parents=True, exist_ok=True)
    file = folder / "vision_mistakes.html"
    file.write_text("\n".join(parts), encoding="utf-8")
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


def _item(row: Prediction) -> str:
    picture = images.shrink(row.label.rgb(), SIDE).copy()
    for box, colour in ((row.label.box, TRUE), (row.box, GIVEN)):
        if box:
            _draw(picture, box, colour)
    shown = base64.b64encode(images.as_jpeg(picture, quality=80)).decode("ascii")
    words = (
        f"{row.label.file}: {row.label.suborder or 'no odonate'} {row.label.view}; found "
        f"{row.odonate:.2f} odonate, {row.anisoptera:.2f} Anisoptera, {_view(row)} "
        f"{max(row.views):.2f}, overlap {_overlap(row):.2f}, {row.kind}. {row.label.notes}"
    )
    return f"<li><img alt='' src='data:image/jpeg;base64,{shown}'>{escape(words)}</li>"


def _draw(picture: images.Pixels, box: Box, colour: tuple[int, int, int]) -> None:
    import cv2

    height, width = picture.shape[:2]
    low = (round(box[0] * (width - 1)), round(box[1] * (height - 1)))
    high = (round(box[2] * (width - 1)), round(box[3] * (height - 1)))
    cv2.rectangle(picture, low, high, colour, 2)
