"""Write rows as CSV files for people, safe to open in a spreadsheet.

Cells are guarded (``standards.spreadsheets``); otherwise RFC 4180: UTF-8 without byte order mark,
commas, CRLF, quotation marks doubled.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence

from triage.standards.spreadsheets import guard_cell


def csv_bytes(columns: Sequence[str], rows: Iterable[Mapping[str, object]]) -> bytes:
    """A CSV file with these columns; a cell that a row lacks, or holds as None, is empty."""
    buffer = io.StringIO(newline="")
    writer = csv.writer(buffer, lineterminator="\r\n")
    writer.writerow(columns)
    for row in rows:
        writer.writerow([_cell(row.get(column)) for column in columns])
    return buffer.getvalue().encode("utf-8", "replace")


def _cell(value: object) -> object:
    if value is None:
        return ""
    return guard_cell(value) if isinstance(value, str) else value
