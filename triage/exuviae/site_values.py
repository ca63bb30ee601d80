"""Read tables of values measured at sites, such as conductivity."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date
from pathlib import Path

from triage.errors import TableError
from triage.exuviae.held_already import refuse_other_spelling
from triage.exuviae.records import Site, SiteMeasurement
from triage.standards.tables import (
    CellError,
    DayOrder,
    RefusedRow,
    Table,
    TableRow,
    day,
    needed_number,
    read_table,
    records_of,
    text,
    with_day_order,
)

TERMS = {
    "locationID": "site",
    "measurementDeterminedDate": "date",
    "measurementType": "variable",
    "measurementValue": "value",
    "measurementUnit": "unit",
    "measurementMethod": "method",
}
"""Darwin Core terms and the plain words that may head the columns in their place."""

_NEEDED = 4  # of the terms above; unit and method may be missing


def read_site_values(
    path: Path,
    *,
    today: date | None = None,
    sites: Sequence[Site] = (),
    day_order: DayOrder = "",
) -> tuple[list[SiteMeasurement], list[RefusedRow]]:
    """Read what was measured at sites, one value for a site, day, variable and method.

    Columns: site, date, variable, value, unit, method, or the Darwin Core terms for them. Days
    after ``today`` are refused where it is given, and so is another spelling of one of the
    survey's ``sites``. Days with slashes are read in ``day_order``, or as the table itself shows.

    Raises
    ------
    TableError
        The file as a whole cannot be read.
    """
    table, column = _table(path)
    table = with_day_order(table, [column["measurementDeterminedDate"]], stated=day_order)

    def value_of(row: TableRow) -> SiteMeasurement:
        measured_on = day(row, column["measurementDeterminedDate"], today=today)
        if not measured_on:
            raise CellError(column["measurementDeterminedDate"], "The cell is empty. Fill it in.")
        found = SiteMeasurement(
            location_id=text(row, column["locationID"], required=True, longest=200),
            measured_on=measured_on,
            variable=text(row, column["measurementType"], required=True, longest=200),
            value=needed_number(row, column["measurementValue"]),
            unit=text(row, column["measurementUnit"], longest=100),
            method=text(row, column["measurementMethod"], longest=500),
        )
        refuse_other_spelling(found.location_id, sites, column["locationID"])
        _refuse_no_water(found, column["measurementValue"])
        return found

    def named(row: TableRow) -> tuple[str, str]:
        where, what = (row.cells[column[term]] for term in ("locationID", "measurementType"))
        by = row.cells.get(column["measurementMethod"], "")
        words = f"{what} at {where} on {day(row, column['measurementDeterminedDate'])}"
        return column["locationID"], f"{words} by {by}" if by else words

    return records_of(table.rows, value_of, table.refused, named=named)


def _refuse_no_water(found: SiteMeasurement, column: str) -> None:
    """A pH that no water has."""
    is_ph = re.search(r"(?<![^\W_])ph(?![^\W_])", found.variable, re.IGNORECASE)  # also pH-Wert
    if is_ph and not 0 <= found.value <= 14:
        raise CellError(column, f"A pH of {found.value:g} is outside 0 to 14. Correct it.")


def _table(path: Path) -> tuple[Table, dict[str, str]]:
    """The table, and how its columns are headed: in plain words, else in Darwin Core terms."""
    terms, plain = list(TERMS), list(TERMS.values())
    try:
        return read_table(path, required=plain[:_NEEDED], optional=plain[_NEEDED:]), TERMS
    except TableError as error:
        try:
            table = read_table(path, required=terms[:_NEEDED], optional=terms[_NEEDED:])
        except TableError:
            raise error from None
        return table, {term: term for term in terms}
