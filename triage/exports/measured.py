"""Say what was measured on photo files in rows, for a spreadsheet or a program."""

from __future__ import annotations

from dataclasses import replace

from triage.analysis.view import Box
from triage.exports.tables import columns_of
from triage.metadata.exif import exif_only
from triage.quality.examination import Examined

COLUMNS = columns_of("measured")

Cell = str | int | float
Row = dict[str, Cell]


def row_of(examined: Examined) -> Row:
    """The row of one file; what is not known is an empty text."""
    photo, measured = examined.photo, examined.measurement
    exif = exif_only(examined.exif)  # the columns are Exif's own: what XMP or IPTC say stays out
    if exif.orientation is None:
        exif = replace(exif, orientation=photo.orientation)
    known: dict[str, Cell | None] = {"phash": examined.keys.phash}
    for source in (photo, exif):
        known |= {name: getattr(source, name) for name in COLUMNS if hasattr(source, name)}
    known |= {side: getattr(photo, side) or None for side in ("width", "height")}
    if measured is not None:
        known |= {
            name: round(value, 6) if isinstance(value, float) else value
            for name in COLUMNS
            if name != "other_boxes" and (value := getattr(measured, name, None)) is not None
        }
        for name, box in (("box", measured.box), ("body", measured.body_box)):
            corners = zip(("x0", "y0", "x1", "y1"), box or (), strict=bool(box))
            known |= {f"{name}_{corner}": round(value, 6) for corner, value in corners}
        known["other_boxes"] = " ".join(_text_of(box) for box in measured.other_boxes)
        known["insect_px"] = round(measured.insect_px, 1)
    return row_with(**{name: value for name, value in known.items() if value is not None})


def _text_of(box: Box) -> str:
    """Four corners as a table of labelled photos writes them: x0;y0;x1;y1."""
    return ";".join(f"{side:.4f}" for side in box)


def row_with(**known: Cell) -> Row:
    """A row of what is known, the columns in order."""
    return {column: known.get(column, "") for column in COLUMNS}
