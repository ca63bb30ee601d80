"""The declared tables of an export, and rows as CSV files for people, safe in a spreadsheet.

Cells are guarded (``standards.spreadsheets``); otherwise RFC 4180: UTF-8, commas, CRLF, quotation
marks doubled. A table that people fill in begins with a byte order mark, without which spreadsheets
on Windows read other letters; one that programs read has none (RFC 4180 and the Darwin Core text
guide know of no mark).
"""

from __future__ import annotations

import codecs
import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from triage.standards.data_files import toml_of
from triage.standards.spreadsheets import guard_cell


def declared() -> dict[str, Any]:
    """What tables.toml says of each table, and of each column under ``column``."""
    return toml_of("triage.exports", "tables.toml")


def words() -> dict[str, Any]:
    """What an export says in sentences."""
    return toml_of("triage.exports", "words.toml")


def columns_of(table: str) -> tuple[str, ...]:
    """The columns of a table, in order."""
    own = declared()[table]
    shared = columns_of(own["like"]) if "like" in own else ()
    return (*(one for one in shared if one not in own.get("without", ())), *own["columns"])


def csv_bytes(
    columns: Sequence[str], rows: Iterable[Mapping[str, object]], *, to_fill_in: bool = False
) -> bytes:
    """A CSV file with these columns; a cell that a row lacks, or holds as None, is empty."""
    buffer = io.StringIO(newline="")
    writer = csv.writer(buffer, lineterminator="\r\n")
    writer.writerow(columns)
    for row in rows:
        writer.writerow([_cell(row.get(column)) for column in columns])
    content = buffer.getvalue().encode("utf-8", "replace")
    return codecs.BOM_UTF8 + content if to_fill_in else content


def _cell(value: object) -> object:
    if value is None:
        return ""
    return guard_cell(value) if isinstance(value, str) else value
