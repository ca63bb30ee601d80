"""A table (CSV) with Darwin Core headers in, rows with their line numbers and refusals out."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class RefusedRow:
    """A row that was not imported: its line in the file, the column, why, and what to do."""

    line: int
    column: str
    reason: str
