"""Puts a row of a table beside what the survey holds: what it leaves out stays as it was."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import replace
from typing import TypeVar

from triage.standards.darwin_core import snake_case
from triage.standards.tables.cells import CellError
from triage.standards.tables.damage import plain_identifier, says_nothing
from triage.standards.tables.reading import TableRow

_Record = TypeVar("_Record")
_FIELDS = {  # of a record, where they are called otherwise
    "verbatimLocality": "aliases",
    "scientificNameAuthorship": "authorship",
    "parentNameUsage": "parent",
}


def keep_held(
    record: _Record,
    held: _Record | None,
    row: TableRow,
    columns: Iterable[str],
    *,
    if_empty: Collection[str] = (),
) -> _Record:
    """The record with what the survey holds of each of these columns that the table lacks.

    A table of a few columns corrects those, and empties no others: a garden stays private. Of the
    columns ``if_empty`` an empty cell says no more than a column that is not there.
    """
    if held is None:
        return record
    left_out = [
        one
        for one in columns
        if one not in row.cells
        or (one in if_empty and (not row.cells[one] or says_nothing(row.cells[one])))
    ]
    kept = {field: getattr(held, field) for field in map(_field, left_out)}
    return replace(record, **kept)  # type: ignore[type-var]


def _field(column: str) -> str:
    return _FIELDS.get(column) or snake_case(column)


def refuse_respelt(value: str, column: str, held: Mapping[str, str]) -> None:
    """An identifier that the survey holds in another spelling; ``held`` is by the plain form."""
    other = held.get(plain_identifier(value), value)
    if other != value and value not in held.values():
        raise CellError(
            column,
            f"The survey has {other}, which is nearly the same. Write it so, or name another.",
        )
