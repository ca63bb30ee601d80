"""Reads the bytes of a table into its header and rows, whatever program saved it.

Comma-separated values as RFC 4180 (Shafranovich 2005) describes them, and the forms that
spreadsheets of different countries write in its place: semicolons or tabs, a byte order mark,
other encodings, a first line ``sep=;``, guards against formulas, totals and damaged numbers.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from triage.errors import TableError
from triage.standards.spreadsheets import without_guard
from triage.standards.tables import headers
from triage.standards.tables.damage import NOTHING, changed_numbers, damage_of, exchanged_people
from triage.standards.tables.encodings import UndecidedEncodingError, decoded

MAXIMUM_BYTES = 64 * 1024 * 1024  # a million rows of 64 characters; more is no survey's table
SHIFTED = 2  # delimiters in words that are looked for by the length of a row
MAXIMUM_CELL_CHARACTERS = 8_000_000  # the shape of a long shore; the csv module allows 131,072
DayOrder = Literal["", "day first", "month first"]
_BINARY_KINDS = {
    b"PK\x03\x04": "a spreadsheet workbook or zip archive",
    b"\xd0\xcf\x11\xe0": "an old spreadsheet workbook",
    b"%PDF": "a PDF document",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class RefusedRow:
    """A row that was not imported: its line in the file, the column, why, and what to do.

    ``only_told`` is what is said of a line that is no record: a title, how its table was read.
    """

    line: int
    column: str
    reason: str
    only_told: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class TableRow:
    """One row. ``line`` is where it starts in the file; ``cells`` are stripped, by column name.

    ``decimal_comma`` says that numbers in this file may be written ``53,9``, ``day_order`` how its
    days with slashes are read.
    """

    line: int
    cells: dict[str, str]
    decimal_comma: bool = False
    day_order: DayOrder = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A table as read: column names in file order, rows, and rows that could not be read."""

    path: str
    columns: tuple[str, ...]
    rows: tuple[TableRow, ...]
    refused: tuple[RefusedRow, ...] = ()
    encoding: str = "utf-8"
    delimiter: str = ","


def read_table(
    path: Path,
    *,
    required: Collection[str] = (),
    optional: Collection[str] = (),
    passed_over: Collection[str] | None = None,
    maximum_bytes: int = MAXIMUM_BYTES,
) -> Table:
    """Read a table whose header names the ``required`` and perhaps the ``optional`` columns.

    Columns are matched without regard to case, spaces, hyphens, underscores and a prefix such as
    ``dwc:``, and are named as given here. Other columns are kept under their own names, or refused
    where it is said which ones may be ``passed_over``. Lines above the header, such as a title,
    and a header that stands again are told of; what follows another header is refused. Blank
    rows are passed over; a row that is short gets empty cells at its end, because spreadsheets
    leave out trailing delimiters; one that a spreadsheet put into a single cell is divided; a row
    that is too long, a total or an error of a spreadsheet is refused.

    Raises
    ------
    TableError
        The file is missing, too large, not text, without rows, or its header is blank, doubled,
        misspelt or lacks a required column.
    """
    raw = read_bytes(path, maximum_bytes=maximum_bytes)
    content, encoding = _decode(raw, path)
    content, skipped, stated = _without_separator_line(content)
    known = tuple(dict.fromkeys((*required, *optional)))
    delimiter = stated or headers.delimiter_of(content, known)
    lines = list(_numbered_rows(content, delimiter, skipped, path))
    at = headers.place_of([cells for _, cells in lines], delimiter, known, required)
    if at is None:
        raise TableError(
            "the file holds no rows",
            failing=str(path),
            next_step="Write a header line with the column names first.",
        )
    line, header = lines[at]
    columns = headers.columns_of(
        headers.divided(list(header), delimiter), known, required, path, line=line
    )
    if passed_over is not None:
        headers.refuse_unknown(columns, {*known, *passed_over}, path)
    others = [name for name in columns if known and name not in known]
    read = [
        *(_unread(line, others) if others and passed_over is None else ()),
        *(_above(number, cells, line) for number, cells in lines[:at] if any(cells)),
        *_without_changed(
            list(
                _below(
                    lines[at + 1 :], columns, known, delimiter, width=max(len(header), len(columns))
                )
            ),
            columns,
            known,
        ),
    ]
    return Table(
        path=str(path),
        columns=columns,
        rows=tuple(one for one in read if isinstance(one, TableRow)),
        refused=tuple(one for one in read if isinstance(one, RefusedRow)),
        encoding=encoding,
        delimiter=delimiter,
    )


def read_bytes(path: Path, *, maximum_bytes: int = MAXIMUM_BYTES) -> bytes:
    """The bytes of an import file, refused if it is absent, no file or larger than allowed."""
    try:
        if not path.is_file():
            raise TableError(
                "there is no such file" if not path.exists() else "this is not a file",
                failing=str(path),
                next_step="Give the path of a table saved as CSV.",
            )
        with path.open("rb") as file:
            raw = file.read(maximum_bytes + 1)
    except OSError as error:
        raise TableError(
            f"the file cannot be read ({error.strerror or error})",
            failing=str(path),
            next_step="Check that it is there and may be read, and close it in other programs.",
        ) from error
    except ValueError as error:
        raise TableError(
            f"this is not a path ({error})", failing=repr(str(path)), next_step="Give another path."
        ) from error
    if len(raw) > maximum_bytes:
        raise TableError(
            f"the file is larger than {maximum_bytes:,} bytes",
            failing=str(path),
            next_step="Divide it into smaller tables and import them one after the other.",
        )
    return raw


def _decode(raw: bytes, path: Path) -> tuple[str, str]:
    for magic, kind in _BINARY_KINDS.items():
        if raw.startswith(magic):
            raise TableError(
                f"this is {kind}, not a table in text form",
                failing=str(path),
                next_step="Open it in its program and save the sheet as CSV (UTF-8).",
            )
    try:
        return decoded(raw)
    except UndecidedEncodingError as question:
        raise TableError(
            str(question),
            failing=str(path),
            next_step="Save it again as CSV (UTF-8) in the program that it comes from.",
        ) from question


def _without_separator_line(content: str) -> tuple[str, int, str]:
    """Drop a first line ``sep=;`` that a spreadsheet program understands; say what it stated."""
    found = re.match(r'"?sep=([,;\t])"?\r?\n', content, flags=re.IGNORECASE)
    return (content[found.end() :], 1, found.group(1)) if found else (content, 0, "")


def _numbered_rows(
    content: str, delimiter: str, skipped: int, path: Path
) -> Iterator[tuple[int, list[str] | str]]:
    """Each row with the line it starts on: its cells, stripped, or why it cannot be read."""
    csv.field_size_limit(max(csv.field_size_limit(), MAXIMUM_CELL_CHARACTERS))
    reader = csv.reader(io.StringIO(content, newline=""), delimiter=delimiter, strict=True)
    while True:
        line = reader.line_num + 1 + skipped
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            if "unexpected end" in str(error):
                raise TableError(
                    f"a quotation mark opened in the row of line {line} is never closed",
                    failing=str(path),
                    next_step="Close it, or double it where it belongs to the text.",
                ) from error
            yield line, f"The row cannot be read ({error}). Check its quotation marks."
            continue
        if any("\x00" in cell for cell in cells):
            yield line, "The row holds a NUL character. Remove it and save the table again."
            continue
        yield line, [cell.strip().strip("\ufeff") for cell in cells]


def _unread(line: int, columns: Sequence[str]) -> Iterator[RefusedRow]:
    """What no import takes in is said, since it may hold what somebody wants to be kept."""
    reason = f"not read: {', '.join(columns)[:300]}. docs/tables.md lists the columns that are."
    yield RefusedRow(line=line, column="", reason=f"Columns {reason}", only_told=True)


def _above(line: int, cells: list[str] | str, header: int) -> RefusedRow:
    """A title or a note above the header: no record, and said to be none."""
    words = cells if isinstance(cells, str) else " ".join(cell for cell in cells if cell)
    return RefusedRow(
        line=line,
        column="",
        reason=f"'{words[:80]}' stands above the header, which is line {header}, and was passed"
        " over. If it is a row, move it below the header.",
        only_told=True,
    )


def _below(
    lines: Sequence[tuple[int, list[str] | str]],
    columns: tuple[str, ...],
    known: Collection[str],
    delimiter: str,
    *,
    width: int,
) -> Iterator[TableRow | RefusedRow]:
    """The rows under the header; none below another header, whose columns are not these.

    ``width`` is the number of cells of the header as it was written. A row of one or two more,
    though the last are empty, is shifted by words with a delimiter, unless all rows end so; more
    empty ones are what a spreadsheet leaves behind.
    """
    second = 0
    whole = [len(cells) for _, cells in lines if isinstance(cells, list) and any(cells)]
    most = max(width, min(whole, default=0))
    for line, written in lines:
        if isinstance(written, str):
            yield RefusedRow(line=line, column="", reason=written)
            continue
        cells = headers.divided(written, delimiter, into=len(columns))
        if not any(cells):
            continue
        if again := headers.stands_again(cells, columns, known):
            second = second or (line if again == "other" else 0)
            reason, same = headers.AGAIN[again], again == "same"
            yield RefusedRow(line=line, column="", reason=reason, only_told=same)
        elif second:
            reason = f"The row stands below the other header of line {second}. {headers.APART}"
            yield RefusedRow(line=line, column="", reason=reason)
        elif most < len(cells) <= most + SHIFTED:
            yield _too_long(line, cells, columns)
        else:
            yield _row(line, cells, columns, delimiter)


def _without_changed(
    read: Sequence[TableRow | RefusedRow], columns: tuple[str, ...], known: Collection[str]
) -> Iterator[TableRow | RefusedRow]:
    """The rows, those refused of which a whole column shows that a spreadsheet changed it."""
    rows = [one for one in read if isinstance(one, TableRow)]
    wrong = dict[int, RefusedRow]()
    for name in columns:
        changed = changed_numbers({row.line: row.cells[name] for row in rows}, name)
        for line, reason in changed.items():
            wrong.setdefault(line, RefusedRow(line=line, column=name, reason=reason))
    for place, (name, other) in exchanged_people([row.cells for row in rows], known).items():
        line, cell = rows[place].line, rows[place].cells[name]
        reason = f"'{cell}' stands under {other} in other rows. Put each cell under its own header."
        wrong.setdefault(line, RefusedRow(line=line, column=name, reason=reason))
    for one in read:
        yield wrong.get(one.line, one) if isinstance(one, TableRow) else one


def _row(
    line: int, cells: list[str], columns: tuple[str, ...], delimiter: str
) -> TableRow | RefusedRow:
    if len(columns) > 2 and not any(cells[1:]) and cells[0].count(delimiter) > 1:
        reason = "The whole row stands in its first cell. Save the table with one cell a column."
        return RefusedRow(line=line, column=columns[0], reason=reason)
    if any(cells[len(columns) :]):
        return _too_long(line, cells, columns)
    for name, written in zip(columns, cells, strict=False):
        if written.startswith("="):  # not guarded by an apostrophe
            reason = f"'{written[:40]}' is a formula. Keep its value alone ('paste values')."
            return RefusedRow(line=line, column=name, reason=reason)
    cells = [without_guard("" if cell in NOTHING else cell) for cell in cells]
    for name, cell in zip(columns, cells, strict=False):
        if damage := damage_of(cell, first=name == columns[0]):
            return RefusedRow(line=line, column=name, reason=damage)
    padded = cells + [""] * (len(columns) - len(cells))
    return TableRow(
        line=line,
        cells=dict(zip(columns, padded, strict=False)),
        decimal_comma=delimiter == ";",
    )


def _too_long(line: int, cells: Sequence[str], columns: Sequence[str]) -> RefusedRow:
    return RefusedRow(
        line=line,
        column="",
        reason=f"The row has {len(cells)} cells and the header {len(columns)}. "
        "Put text that contains the delimiter between quotation marks.",
    )
