"""Measure loose photo files, and folders of them, without a survey: a table with one row each."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from hashlib import file_digest
from pathlib import Path
from typing import TextIO

from triage.analysis import images
from triage.metadata.exif import exif_only
from triage.pipeline.workers import in_order
from triage.quality.examination import Examined, examine_content

COLUMNS = (
    "file",
    "sha256",
    "format",
    "width",
    "height",
    "date_time_original",
    "date_time_digitized",
    "offset_time",
    "gps_latitude",
    "gps_longitude",
    "gps_h_positioning_error",
    "orientation",
    "make",
    "model",
    "odonate",
    "suborder",
    "suborder_probability",
    "box_x0",
    "box_y0",
    "box_x1",
    "box_y1",
    "view",
    "p_dorsal",
    "p_lateral",
    "p_anterior",
    "p_oblique",
    "p_other",
    "focus",
    "insect_px",
    "exposure",
    "usability",
    "phash",
    "problem",
)

Cell = str | int | float
Row = dict[str, Cell]
Progress = Callable[[int, int], None]
"""Called with the number of photos done and the number of all."""


def measure_paths(
    paths: Sequence[Path], *, processes: int | None = None, progress: Progress | None = None
) -> Iterator[Row]:
    """Measure loose photos and folders of photos, one row each, in the order found.

    Parameters
    ----------
    paths : sequence of Path
        Files, and folders that are walked to the bottom; what a folder holds besides photos (by
        first bytes or by suffix) is passed over, what is named itself always gets a row.
    processes : int, optional
        Worker processes; all cores unless given. One works without any.
    progress : callable, optional
        Told after each photo how many are done and how many there are.

    Yields
    ------
    dict
        The keys of ``COLUMNS`` in that order; an empty text where there is no value. A file
        that cannot be read has only ``file``, what is known of it, and ``problem``.
    """
    found = list(_walk(paths))
    work = [path for path, _ in found]
    rows = in_order(_row_of_file, work, processes=processes, crashed=_crashed)
    for done, ((_, shown), row) in enumerate(zip(found, rows, strict=True), start=1):
        yield {**row, "file": shown}
        if progress is not None:
            progress(done, len(found))


def write_csv(rows: Iterable[Mapping[str, Cell]], target: TextIO) -> int:
    """Write rows under a line of headers (RFC 4180, line ends as the target has them).

    A text that a spreadsheet would take for a formula is written behind an apostrophe.

    Returns
    -------
    int
        The number of rows written.
    """
    writer = csv.DictWriter(target, fieldnames=COLUMNS, lineterminator="\n")
    writer.writeheader()
    written = 0
    for row in rows:
        writer.writerow({key: _harmless(value) for key, value in row.items()})
        written += 1
    return written


def write_json(rows: Iterable[Mapping[str, Cell]], target: TextIO) -> int:
    """Write rows as one JSON list and return how many there were."""
    listed = [dict(row) for row in rows]
    json.dump(listed, target, ensure_ascii=False, indent=1)
    target.write("\n")
    return len(listed)


def _walk(paths: Sequence[Path]) -> Iterator[tuple[Path, str]]:
    """Each file with the name that its row shows."""
    for path in paths:
        if not path.is_dir():
            yield path, _shown(path)
            continue
        for inside in sorted(path.rglob("*")):
            if inside.is_file() and _may_be_photo(inside):
                yield inside, _shown(inside.relative_to(path))


def _shown(path: Path) -> str:
    """The path as text that any file can carry, whatever bytes the system's name holds."""
    return str(path).encode("utf-8", "replace").decode("utf-8") if path.parts else str(path)


def _may_be_photo(path: Path) -> bool:
    if path.suffix.lower() in images.PHOTO_SUFFIXES:
        return True
    try:
        with path.open("rb") as stream:
            return images.kind_of(stream.read(64)) is not None
    except OSError:
        return False


def _row_of_file(path: Path) -> Row:
    """The row of one file, read here so that bytes need not travel between processes."""
    try:
        if not path.is_file():
            return _row(problem="there is no such file. Check the path.")
        if path.stat().st_size > images.MAX_BYTES:
            with path.open("rb") as stream:
                digest = file_digest(stream, "sha256").hexdigest()
            return _row(sha256=digest, problem=f"has more than {images.MAX_BYTES:,} bytes.")
        content = path.read_bytes()
    except OSError as error:
        return _row(problem=f"cannot be read: {error.strerror or error}. Check its permissions.")
    return _row_of(examine_content(content, file_name=path.name))


def _crashed(path: Path) -> Row:
    return _row(problem="the decoder broke down on this file. Ask the sender for it again.")


def _row(**known: Cell) -> Row:
    return {column: known.get(column, "") for column in COLUMNS}


def _row_of(examined: Examined) -> Row:
    # The columns are Exif's own terms: what XMP or IPTC say instead stays out of them.
    photo, exif, seen = examined.photo, exif_only(examined.exif), examined.measurement
    known: dict[str, Cell | None] = {
        "sha256": photo.sha256,
        "format": photo.format,
        "width": photo.width or "",
        "height": photo.height or "",
        "date_time_original": exif.date_time_original,
        "date_time_digitized": exif.date_time_digitized,
        "offset_time": exif.offset_time,
        "gps_latitude": exif.gps_latitude,
        "gps_longitude": exif.gps_longitude,
        "gps_h_positioning_error": exif.gps_h_positioning_error,
        "orientation": exif.orientation if exif.orientation is not None else photo.orientation,
        "make": exif.make,
        "model": exif.model,
        "phash": examined.keys.phash,
        "problem": photo.problem,
    }
    if seen is not None:
        known |= {
            name: getattr(seen, name)
            if isinstance(getattr(seen, name), str)
            else round(getattr(seen, name), 6)
            for name in COLUMNS
            if hasattr(seen, name)
        }
        known |= {
            f"box_{corner}": round(value, 6)
            for corner, value in zip(("x0", "y0", "x1", "y1"), seen.box, strict=True)
        }
        known["insect_px"] = round(seen.insect_px, 1)
    return _row(**{key: value for key, value in known.items() if value is not None})


def _harmless(value: Cell) -> Cell:
    """Text that a spreadsheet would run as a formula, made plain text (OWASP, CSV injection)."""
    risky = isinstance(value, str) and value.startswith(("=", "+", "-", "@", "\t", "\r"))
    return f"'{value}" if risky and not _is_offset(str(value)) else value


def _is_offset(text: str) -> bool:
    """True for +HH:MM, which no spreadsheet runs."""
    return len(text) == 6 and text[1:3].isdigit() and text[3] == ":" and text[4:].isdigit()
