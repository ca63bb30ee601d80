"""Tells from a table as a whole whether its days are written day/month/year or month/day/year.

Which of the two a spreadsheet writes follows the country that it is set to (Unicode CLDR, short
date patterns: dd/MM/y in the United Kingdom and in France, M/d/yy in the United States), so one
day that can be read in one way alone answers for all days of the table.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace

from triage.errors import TableError
from triage.standards.tables.reading import DayOrder, RefusedRow, Table

ORDERS: dict[DayOrder, str] = {"day first": "day/month/year", "month first": "month/day/year"}
_SLASHED = re.compile(
    r"(\d{1,2})([/-])(\d{1,2})\2(\d{4})([T ,]+\d{1,2}:\d{2}(:\d{2})?( ?[AP]M)?)?", re.IGNORECASE
)
_YEAR_FIRST = re.compile(r"\d{4}-\d{2}-(\d{2})(?:[T ].*)?", re.ASCII)
MOST_MONTHS = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class _Written:
    """One day with slashes: where it stands and its first two numbers."""

    line: int
    column: str
    cell: str
    first: int
    second: int

    @property
    def order(self) -> DayOrder:
        """The only order in which it can be read; empty where both can be meant."""
        if self.first <= MOST_MONTHS < self.second:
            return "month first"
        return "day first" if self.second <= MOST_MONTHS < self.first else ""


def with_day_order(table: Table, columns: Collection[str], *, stated: DayOrder = "") -> Table:
    """The table whose rows know in which order days with slashes stand in these ``columns``.

    The order is ``stated`` by whoever imports, or shown by a day such as 25/08/2026; how the days
    were read is told beside the refused rows. In a table that has days in other forms as well, a
    day that both orders can mean is left to be refused.

    Raises
    ------
    TableError
        Nothing shows the order, two days show different ones, or a spreadsheet seems to have
        exchanged day and month in the days that it could.
    """
    written = list(_written(table, columns))
    shown: dict[DayOrder, _Written] = {one.order: one for one in reversed(written) if one.order}
    open_ones = [one for one in written if one.first != one.second and not one.order]
    _refuse_two_orders(table, shown, stated)
    _refuse_exchanged(table, columns, written)
    order = stated or next(iter(shown), "")
    if not order and open_ones and len(written) == _filled(table, columns):
        raise TableError(
            f"days such as {open_ones[0].cell} (line {open_ones[0].line}) can be read in two ways,"
            " and none of the table shows which",
            failing=table.path,
            next_step="Say it with --day-first or --month-first, or save the days as 2026-06-13.",
        )
    if not order and not open_ones:
        order = "day first"  # 07/07/2026 is one day in both
    told = [_told(shown[order])] if open_ones and order in shown and not stated else []
    return replace(
        table,
        rows=tuple(replace(row, day_order=order) for row in table.rows),
        refused=(*table.refused, *told),
    )


def year_first_of(cell: str, order: DayOrder) -> str:
    """A day with slashes as ISO 8601 writes it, in the order of its table; others as they are.

    >>> year_first_of("3/8/2026", "day first"), year_first_of("3/8/2026", "month first")
    ('2026-08-03', '2026-03-08')
    >>> year_first_of("3/8/2026", ""), year_first_of("2026-08-03", "day first")
    ('3/8/2026', '2026-08-03')
    >>> year_first_of("2026/8/3", "")
    '2026-08-03'
    """
    if found := re.fullmatch(r"(\d{4})/(\d{1,2})/(\d{1,2})", cell.strip()):
        return f"{found[1]}-{found[2]:0>2}-{found[3]:0>2}"
    found = _SLASHED.fullmatch(cell.strip()) if order else None
    if found is None:
        return cell
    day, month = (found[1], found[3]) if order == "day first" else (found[3], found[1])
    return f"{found[4]}-{month:0>2}-{day:0>2}"


def is_slashed(cell: str) -> bool:
    """Whether a day is written with slashes, the year last."""
    return _SLASHED.fullmatch(cell.strip()) is not None


def _written(table: Table, columns: Collection[str]) -> Iterator[_Written]:
    for row in table.rows:
        for column in columns:
            cell = row.cells.get(column, "")
            if found := _SLASHED.fullmatch(cell.strip()):
                first, second = int(found[1]), int(found[3])
                yield _Written(line=row.line, column=column, cell=cell, first=first, second=second)


def _filled(table: Table, columns: Collection[str]) -> int:
    return sum(bool(row.cells.get(column)) for row in table.rows for column in columns)


def _refuse_two_orders(table: Table, shown: dict[DayOrder, _Written], stated: DayOrder) -> None:
    if len(shown) > 1:
        one, other = sorted(shown.values(), key=lambda written: written.line)
        raise TableError(
            f"days are written in two orders: {one.cell} on line {one.line} and {other.cell} on"
            f" line {other.line}",
            failing=table.path,
            next_step="Write every day of the table as 2026-06-13.",
        )
    if stated and shown and stated not in shown:
        [against] = shown.values()
        raise TableError(
            f"{against.cell} on line {against.line} is no day written {ORDERS[stated]}",
            failing=table.path,
            next_step="Say the other order, or correct the day.",
        )


def _refuse_exchanged(table: Table, columns: Collection[str], written: list[_Written]) -> None:
    """A spreadsheet of another country reads 03/08 as 8 March and leaves 25/08 as it was typed."""
    found = ((row.line, row.cells.get(name, "")) for row in table.rows for name in columns)
    year_first = [(line, day) for line, cell in found if (day := _YEAR_FIRST.fullmatch(cell))]
    left = bool(written) and all(one.order for one in written)
    if left and year_first and all(int(day[1]) <= MOST_MONTHS for _, day in year_first):
        line, day = year_first[0]
        raise TableError(
            f"a spreadsheet may have exchanged day and month: {written[0].cell} on line"
            f" {written[0].line} stands as it was typed, {day[0]} on line {line} does not",
            failing=table.path,
            next_step="Look at the days in the file that was typed, and write them all as"
            " 2026-06-13.",
        )


def _told(proof: _Written) -> RefusedRow:
    return RefusedRow(
        line=proof.line,
        column=proof.column,
        reason=f"{proof.cell} shows that the days of this table are written {ORDERS[proof.order]};"
        " they were read so.",
        only_told=True,
    )
