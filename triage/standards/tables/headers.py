"""Finds the header of a table among its first lines, and matches its columns with known ones."""

from __future__ import annotations

import csv
import re
from collections.abc import Collection, Sequence
from itertools import islice
from pathlib import Path
from typing import Literal

from rapidfuzz import fuzz, process

from triage.errors import TableError
from triage.standards.data_files import toml_of
from triage.standards.spreadsheets import without_guard

FIRST_LINES = 20  # among which the header is looked for: titles and notes may stand above it
MAXIMUM_COLUMNS = 512
DELIMITERS = (",", ";", "\t")
MISSPELT_SIMILARITY = 85.0  # of 100, rapidfuzz ratio: "localty" has 93, other terms below 80
RELEASED = "informationWithheld"  # the Darwin Core column of tables that leave out what is held
APART = "Save that part as a table of its own."
AGAIN = {
    "same": "The header stands here again; it is no row and was passed over.",
    "other": f"Another header stands here, so the rows below it have other columns. {APART}",
}


def delimiter_of(content: str, known: Collection[str]) -> str:
    """The delimiter under which a header shows most known columns, else the first line most."""
    lines = [line for line in content.splitlines() if line.strip()][:FIRST_LINES]
    keys = {_key(name) for name in known}

    def merit(delimiter: str) -> tuple[int, int]:
        rows = [
            divided(next(csv.reader([line], delimiter=delimiter), []), delimiter) for line in lines
        ]
        return max((_count(cells, keys) for cells in rows), default=0), max(
            map(len, rows[:1]), default=0
        )

    try:
        return max(DELIMITERS, key=merit)
    except csv.Error:
        return ","


def divided(cells: list[str], delimiter: str, *, into: int | None = None) -> list[str]:
    """A row whose only cell holds all of its cells, as those; any other row as it is.

    A spreadsheet that expects semicolons opens a table with commas so, and saves it so. ``into``
    says how many cells a row has: one that gives another number is left as it is.

    >>> divided(['V01,LNT-01,"60 min, 100 m"'], ",")
    ['V01', 'LNT-01', '60 min, 100 m']
    """
    if not cells or any(cells[1:]) or delimiter not in cells[0]:
        return cells
    try:
        inner = [cell.strip() for cell in next(csv.reader([cells[0]], delimiter=delimiter), [])]
    except csv.Error:
        return cells
    return inner if into is None or len(inner) == into else cells


def place_of(
    rows: Sequence[list[str] | str],
    delimiter: str,
    known: Collection[str],
    required: Collection[str],
) -> int | None:
    """Where the header stands: the first row with all required and two known columns at least.

    The first row with anything in it where there is no such row; None where nothing is.
    """
    filled = (
        (place, cells) for place, cells in enumerate(rows) if isinstance(cells, list) and any(cells)
    )
    first = list(islice(filled, FIRST_LINES))
    keys, needed = {_key(name) for name in known}, {_key(name) for name in required}
    for place, cells in first:
        named = {_key(without_guard(cell)) for cell in divided(cells, delimiter)}
        if needed <= named and len(named & keys) >= min(2, len(keys)):
            return place
    return first[0][0] if first else None


def stands_again(
    cells: Sequence[str], columns: Sequence[str], known: Collection[str]
) -> Literal["", "same", "other"]:
    """Whether a row below the header names columns as well: the same ones, or others."""
    keys = {_key(name) for name in (*known, *columns)}
    if _count(cells, keys) < min(2, len(columns)):
        return ""
    named = [_key(cell) for cell in cells if cell]
    if sum(one in keys for one in named) * 2 < len(named):
        return ""
    return "same" if named == [_key(name) for name in columns] else "other"


def _count(cells: Sequence[str], keys: set[str]) -> int:
    return sum(_key(without_guard(cell)) in keys for cell in cells if cell)


def columns_of(
    header: Sequence[str],
    known: Collection[str],
    required: Collection[str],
    path: Path,
    *,
    line: int,
) -> tuple[str, ...]:
    """The columns under the names given here, refused where one is doubled, misspelt or missing.

    Raises
    ------
    TableError
        With what is wrong with the header.
    """
    header = [without_guard(cell) for cell in header]
    while header and not header[-1]:
        header = header[:-1]
    if len(header) > MAXIMUM_COLUMNS:
        raise TableError(
            f"the header has {len(header)} columns, more than {MAXIMUM_COLUMNS}",
            failing=str(path),
            next_step="Keep only the columns that the import needs.",
        )
    if required and not _count(header, {_key(name) for name in known}):
        raise TableError(
            f"none of the first {FIRST_LINES} lines is a header with {', '.join(required)}",
            failing=str(path),
            next_step=f"Write the names of the columns above the rows; line {line} reads:"
            f" {', '.join(cell for cell in header if cell)[:200]}.",
        )
    _refuse_other_kind(header, known, path)
    if RELEASED not in known and _count(header, {_key(RELEASED)}):
        raise TableError(
            "this is a table of an export: places in it are made coarse, people are codes",
            failing=str(path),
            next_step="Import the table that the survey's own people keep instead.",
        )
    by_key = {_key(name): name for name in known}
    columns = [by_key.get(_key(cell), cell) for cell in header]
    for position, name in enumerate(columns, start=1):
        if not name:
            raise TableError(
                f"column {position} has no name in the header",
                failing=str(path),
                next_step="Name the column, or remove it.",
            )
        if name in columns[: position - 1]:
            raise TableError(
                f"column {name} stands in the header twice",
                failing=str(path),
                next_step="Remove or rename one of the two.",
            )
    _refuse_misspelt(columns, known, path)
    missing = [name for name in required if name not in columns]
    if missing:
        raise TableError(
            f"the header lacks the column{'s' * (len(missing) > 1)} {', '.join(missing)}",
            failing=str(path),
            next_step=f"Add it to the header; the header read is: {', '.join(columns)[:300]}.",
        )
    return tuple(columns)


def _refuse_other_kind(header: Sequence[str], known: Collection[str], path: Path) -> None:
    """A table of lots holds names of taxa, and is no checklist."""
    for kind, declared in toml_of("triage.standards.tables", "columns.toml").items():
        own = {_key(name) for name in declared.get("required", ())}
        if own - {_key(name) for name in known} and _count(header, own) == len(own):
            raise TableError(
                f"this seems to be a table of {kind}: it has {', '.join(declared['required'])}",
                failing=str(path),
                next_step=f"Import it with 'triage {kind} FILE', or remove the columns that are"
                " not of this table.",
            )


def _refuse_misspelt(columns: list[str], known: Collection[str], path: Path) -> None:
    """A slip in an optional column would lose its content in silence, so it stops the import."""
    absent = [name for name in known if name not in columns]
    for column in columns:
        if column in known:
            continue
        near = process.extractOne(
            _key(column),
            {name: _key(name) for name in absent},
            scorer=fuzz.ratio,
            score_cutoff=MISSPELT_SIMILARITY,
        )
        # Darwin Core has recordedByID beside recordedBy: such a column is no slip of the other.
        if near and _key(column) != f"{_key(near[2])}id":
            raise TableError(
                f"column {column} is not known and looks like {near[2]}",
                failing=str(path),
                next_step=f"Rename it to {near[2]}, or to something else if it is another thing.",
            )


def refuse_unknown(columns: tuple[str, ...], known: Collection[str], path: Path) -> None:
    """A column that is not understood could hold what somebody said, and would be lost."""
    keys = {_key(name) for name in known}
    unknown = [name for name in columns if _key(name) not in keys]
    if unknown:
        raise TableError(
            f"what is in column {', '.join(unknown)[:200]} is not known",
            failing=str(path),
            next_step="Remove the column, or rename it to the one of docs/tables.md that it is.",
        )


def _key(header: str) -> str:
    """A header without case, spaces, hyphens, underscores and the name space of a standard."""
    name = re.sub(
        r"^(https?://.*[/#]|(dwc|dc|dcterms|ac|xmp)\s*:)", "", header.strip(), flags=re.IGNORECASE
    )
    return re.sub(r"[\s_\-]+", "", name).casefold()
