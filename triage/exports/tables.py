"""Rows in, CSV files for people out, safe to open in a spreadsheet.

A cell that a spreadsheet would run as a formula gets an apostrophe in front; a cell that begins
with an apostrophe gets another, so taking one leading apostrophe away gives back every value.
Otherwise RFC 4180: UTF-8 without byte order mark, commas, CRLF, quotation marks doubled.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Mapping, Sequence

_NUMBER = re.compile(r"[-+]?\d+(?:\.\d+)?|[-+]\d\d:\d\d")  # or an offset from UTC
_RISKY_START = re.compile(r"[\s\x00-\x1f]*[=+\-@\t\r\n|%\uff1d\uff0b\uff0d\uff20\u2212]")


def guard_cell(text: str) -> str:
    """The cell as written: an apostrophe before what a spreadsheet might run.

    >>> guard_cell('=HYPERLINK("x")'), guard_cell("-21.7"), guard_cell("'til dusk")
    ('\\'=HYPERLINK("x")', '-21.7', "''til dusk")
    """
    risky = text.startswith("'") or (_RISKY_START.match(text) and not _NUMBER.fullmatch(text))
    return f"'{text}" if risky else text


def csv_bytes(columns: Sequence[str], rows: Sequence[Mapping[str, str]]) -> bytes:
    """A CSV file with these columns; a row without one of them has an empty cell there."""
    buffer = io.StringIO(newline="")
    writer = csv.writer(buffer, lineterminator="\r\n")
    writer.writerow(columns)
    for row in rows:
        writer.writerow([guard_cell(row.get(column, "")) for column in columns])
    return buffer.getvalue().encode("utf-8", "replace")
