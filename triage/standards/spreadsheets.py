"""Guards cells that a spreadsheet would run or change, and takes the guard away again.

A cell that would be run as a formula, or turned into another number, gets an apostrophe in front;
a cell that begins with an apostrophe gets another, so every value comes back as it was.
"""

from __future__ import annotations

import re

_NUMBER = re.compile(r"[-+]?\d+(?:\.\d+)?|[-+]\d\d:\d\d")  # or an offset from UTC
_RISKY_START = re.compile(r"[\s\x00-\x1f]*[=+\-@\t\r\n|%\uff1d\uff0b\uff0d\uff20\u2212]")
# Spreadsheets keep 15 digits of a number, read 12e5 as one, and drop zeros at the front.
_CHANGED_NUMBER = re.compile(r"\d+[eE]\d+|0\d+|\d{16,}", re.ASCII)


def guard_cell(text: str) -> str:
    """The cell as written: an apostrophe before what a spreadsheet might run or change.

    >>> guard_cell('=HYPERLINK("x")'), guard_cell("-21.7"), guard_cell("'til dusk")
    ('\\'=HYPERLINK("x")', '-21.7', "''til dusk")
    >>> guard_cell("1234567890123456"), guard_cell("12e5"), guard_cell("0017")
    ("'1234567890123456", "'12e5", "'0017")
    """
    formula = _RISKY_START.match(text) and not _NUMBER.fullmatch(text)
    risky = text.startswith("'") or formula or _CHANGED_NUMBER.fullmatch(text)
    return f"'{text}" if risky else text


def without_guard(cell: str) -> str:
    """The value behind a guarded cell; any other cell as it is.

    >>> without_guard("'12e5"), without_guard("'t Veld"), without_guard("''til dusk")
    ('12e5', "'t Veld", "'til dusk")
    """
    return cell[1:] if cell.startswith("'") and guard_cell(cell[1:]) == cell else cell
