"""Write rows as CSV files for people, safe to open in a spreadsheet.

Cells are guarded (``standards.spreadsheets``); otherwise RFC 4180: UTF-8 without byte order mark,
commas, CRLF, quotation marks doubled.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence

from triage.standards.spreadsheets import guard_cell


def csv_bytes(columns: Sequence[str], rows: Sequence[Mapping[str, str]]) -> bytes:
    """A CSV file with these columns; a row without one of them has an empty cell there."""
    buffer = io.StringIO(newline="")
    writer = csv.writer(buffer, lineterminator="\r\n")
    writer.writerow(columns)
    for row in rows:
        writer.writerow([guard_cell(row.get(column, "")) for column in columns])
    return buffer.getvalue().encode("utf-8", "replace")
