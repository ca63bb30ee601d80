"""Finds rows of a table that stand under one name: of those that differ none is taken."""

from __future__ import annotations

from collections.abc import Iterable

from triage.standards.groups import in_groups
from triage.standards.tables.damage import without_zeros
from triage.standards.tables.reading import RefusedRow, TableRow

MOST_NAMED = 3  # of the lines and columns in which rows differ


def doubled_rows(named: Iterable[tuple[TableRow, str, str]]) -> dict[int, RefusedRow]:
    """By line, of rows with the column and name under which each stands: those not to be taken.

    A row that repeats the first word for word is only told of. Which of two that differ is right
    cannot be known from their order. Capitals, blanks and zeros before a number do not tell two
    names apart: spreadsheets and file names lose them. Rows without a name are left alone.
    """
    groups = in_groups((without_zeros(one[2]), one) for one in named if one[2])
    found = dict[int, RefusedRow]()
    for group in groups.values():
        first, *others = (row for row, _, _ in group)
        differ = [
            term
            for term, cell in first.cells.items()
            if any(row.cells.get(term, "") != cell for row in others)
        ]
        for row, column, name in group if differ else group[1:]:
            lines = [str(other.line) for other, _, _ in group if other is not row]
            if differ:
                reason = (
                    f"{name} stands on line{'s' * (len(lines) > 1)}"
                    f" {' and '.join(lines[:MOST_NAMED])} as well, with"
                    f" another {' and '.join(differ[:MOST_NAMED])}. None of these rows was taken:"
                    " keep the right one, or tell them apart."
                )
            else:
                reason = (
                    f"{name} stands on line {first.line} in the same words; it was passed over."
                )
            found[row.line] = RefusedRow(
                line=row.line, column=column, reason=reason, only_told=not differ
            )
    return found
