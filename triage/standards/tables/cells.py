"""Check a cell of a table, and read it as a number, day, interval, list or yes/no.

Dates follow Darwin Core ``eventDate``: ISO 8601-1:2019, a day or an interval with ``/``.
"""

from __future__ import annotations

import calendar
import math
import re
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from datetime import date, timedelta
from typing import TypeVar

from triage.standards.data_files import toml_of
from triage.standards.tables.damage import is_changed_identifier, is_effort, says_nothing
from triage.standards.tables.day_order import is_slashed, year_first_of
from triage.standards.tables.doubled import doubled_rows
from triage.standards.tables.reading import RefusedRow, TableRow

_Record = TypeVar("_Record")

FIRST_YEAR = 1758  # zoological names, and so records under them, begin with Linnaeus 1758 (ICZN 3)
LONGEST_DAYS = 366  # of an eventDate
EMPTY_DAYS = ("1899-12-30", "1899-12-31", "1900-01-01", "1904-01-01")
"""Days from which spreadsheets count, and so their 0 or 1; common practice, no source."""
NO_VALUES = (-99.0, -999.0, -9999.0, -99999.0)  # written for none; common practice, no source
_NO_VALUE = re.compile("9{4,}")  # the same without its sign; a measured one has its decimals
LIST_SEPARATOR = "|"  # Darwin Core recommends " | " between the values of a list
# The answers in our languages, and what spreadsheets of other countries write for true and false.
_YES_WORDS = "yes y true 1 x ja tak oui wahr prawda vrai verdadero vero waar pravda"
_NO_WORDS = "no n false 0 nein nie non falsch fałsz faux falso onwaar nepravda"
_YES, _NO = frozenset(_YES_WORDS.split()), frozenset(_NO_WORDS.split())

_NUMBER_OR_DAY = re.compile(
    r"[+\-\u2212]?\d+[.,]\d+\s*[°º]?\s*[NSEW]?|\d{4}-\d\d-\d\d(?:[/T ].*)?"
    r"|\d{1,2}([./])\d{1,2}\1\d{4}"
)

_LOST_LETTER = re.compile(r"(?<!/)\b[^\W\d_]+\?[^\W\d_]|(?:^|\s)\?[^\W\d_]")  # B?oto, ?abie
_CODED_LETTER = re.compile(r"&#?\w{2,8};|\\u[0-9a-fA-F]{4}|(?:%[0-9A-Fa-f]{2}){2}")
_ORCID = r"(?:\d{4}-){3}\d{3}[\dX]"


class CellError(ValueError):
    """A cell that cannot be used: its column and the reason with what to do."""

    def __init__(self, column: str, reason: str) -> None:
        self.column = column
        self.reason = reason
        super().__init__(f"{column}: {reason}")


def records_of(
    rows: Iterable[TableRow],
    build: Callable[[TableRow], _Record | None],
    refused: Iterable[RefusedRow] = (),
    *,
    named: Callable[[TableRow], tuple[str, str]],
) -> tuple[list[_Record], list[RefusedRow]]:
    """Build a record of each row; a row whose cells cannot be used joins the refused ones.

    ``named`` tells the column and the name under which a row stands, an empty one if it has none:
    of rows that differ under one name none is taken, however the others are. A row of which
    ``build`` makes nothing is passed over. The refused rows come by their lines.
    """
    rows = list(rows)
    doubled = doubled_rows(_names_of(rows, named))
    records: list[_Record] = []
    wrong = [*refused, *doubled.values()]
    for row in rows:
        if row.line in doubled:
            continue
        try:
            record = build(row)
        except CellError as error:
            wrong.append(RefusedRow(line=row.line, column=error.column, reason=error.reason))
        else:
            if record is not None:
                records.append(record)
    return records, sorted(wrong, key=lambda one: one.line)


def _names_of(
    rows: Iterable[TableRow], named: Callable[[TableRow], tuple[str, str]]
) -> Iterator[tuple[TableRow, str, str]]:
    for row in rows:
        with suppress(CellError):  # which is said of the row by itself
            yield row, *named(row)


def text(row: TableRow, column: str, *, required: bool = False, longest: int = 10_000) -> str:
    """The cell's text, empty where the table has no such column."""
    value = row.cells.get(column, "")
    if required and not value:
        raise CellError(column, "The cell is empty. Fill it in.")
    if len(value) > longest:
        raise CellError(column, f"The cell has {len(value)} characters, more than {longest}.")
    return value


def words(row: TableRow, column: str, *, longest: int = 10_000) -> str:
    """The cell's text where words stand: a decimal number or a day there shows a shifted row.

    A dash or a word for none is an empty cell.
    """
    value = text(row, column, longest=longest)
    if says_nothing(value):
        return ""
    if _NUMBER_OR_DAY.fullmatch(value):
        raise CellError(
            column,
            f"'{value}' is no text for this column: the cells of the row seem to be shifted by a "
            "column. Put each under its own header.",
        )
    if "://" in value:  # an address, such as that of a protocol, has such signs by itself
        return value
    if found := _CODED_LETTER.search(value):
        raise CellError(
            column,
            f"'{found[0]}' stands for a letter: a program has written its code. Write the letter.",
        )
    if _LOST_LETTER.search(value):
        raise CellError(
            column,
            f"'{value}': a question mark seems to stand for a letter that was lost when the table "
            "was saved. Save it again as CSV (UTF-8).",
        )
    return value


def person(row: TableRow, column: str) -> str:
    """The cell's text where somebody is named: a number or a day there shows a shifted row."""
    value = words(row, column, longest=500)
    no_letter = value and not re.search(r"[^\W\d_]", value)
    if (no_letter and not re.fullmatch(_ORCID, value)) or is_effort(value):
        raise CellError(
            column,
            f"'{value}' is nobody's name: the cells of the row seem to be shifted by a column. "
            "Put each under its own header.",
        )
    if "@" in value:  # it would be handed on with the records
        raise CellError(column, f"'{value}' is an address. Write the person's name.")
    return value


def identifier(row: TableRow, column: str, *, required: bool = False) -> str:
    """The cell as an identifier, refused where a spreadsheet has made a number or a date of it."""
    value = text(row, column, required=required, longest=200)
    if not required and says_nothing(value):
        return ""
    if value and not re.search(r"[^\W_]", value):
        raise CellError(column, f"'{value}' has neither letter nor digit. Write the identifier.")
    if is_changed_identifier(value):
        raise CellError(
            column,
            f"'{value}' seems to be an identifier that a spreadsheet changed into a number or a "
            "date. Format the column as text there and type it again.",
        )
    return value


def columns_of(table: str) -> dict[str, tuple[str, ...]]:
    """The columns of a table that a survey takes in, by their kind in columns.toml."""
    declared = toml_of("triage.standards.tables", "columns.toml")[table]
    return {kind: tuple(names) for kind, names in declared.items()}


def listed(row: TableRow, column: str) -> tuple[str, ...]:
    """The values of a list cell, separated by ``|``, each once, those that say nothing left out."""
    values = (part.strip() for part in text(row, column).split(LIST_SEPARATOR))
    return tuple(dict.fromkeys(one for one in values if one and not says_nothing(one)))


def number(
    row: TableRow, column: str, *, least: float = -math.inf, most: float = math.inf
) -> float | None:
    """The cell as a finite number between ``least`` and ``most``; None where it is empty."""
    value = text(row, column, longest=100)
    if not value:
        return None
    written = value.replace("\N{MINUS SIGN}", "-")
    if row.decimal_comma and re.fullmatch(r"[+-]?\d+,\d+", written):
        written = written.replace(",", ".")
    if not re.fullmatch(r"[+-]?(\d+(\.\d+)?|\.\d+)([eE][+-]?\d{1,3})?", written, re.ASCII):
        hint = (
            "Write decimals with a point; a decimal comma is read only in tables with semicolons."
            if re.fullmatch(r"[+-]?\d+,\d+", written)
            else "Write digits with a decimal point and no unit."
        )
        raise CellError(column, f"'{value}' is not a number. {hint}")
    result = float(written)
    if not least <= result <= most or math.isinf(result):
        raise CellError(column, f"{value} is outside {least:,.12g} to {most:,.12g}.")
    return result


def needed_number(row: TableRow, column: str) -> float:
    """The cell as a number, refused where it is empty, stands for none or is a limit."""
    written = text(row, column, required=True, longest=100)
    value = None if written.startswith(("<", ">")) else number(row, column)
    if value is None:
        raise CellError(
            column,
            f"'{written}' is a limit and no value. Write the value that your method "
            "puts in its place, and say so in the method.",
        )
    if value in NO_VALUES or _NO_VALUE.fullmatch(written):
        raise CellError(
            column,
            f"{written} stands for a missing value. Leave the row out; if it was measured, write"
            " it with a decimal.",
        )
    return value


def integer(row: TableRow, column: str, *, least: int, most: int) -> int | None:
    """The cell as a whole number between ``least`` and ``most``; None where it is empty."""
    value = number(row, column, least=least, most=most)
    if value is None:
        return None
    written = text(row, column)
    if value != int(value):
        raise CellError(column, f"{written} is not a whole number.")
    if re.search(r"[eE]|[.,]\d{3}$", written):  # 1.000 is one or a thousand, by the country
        raise CellError(column, f"'{written}' can be read in two ways. Write its digits alone.")
    return int(value)


def category(row: TableRow, column: str) -> str:
    """The cell as one of the four categories of sensitivity; empty for an empty cell or a no."""
    value = text(row, column, longest=100).casefold()
    if value in _NO:
        return ""
    if value in ("", "1", "2", "3", "4"):
        return value
    raise CellError(
        column, f"'{value}' is not a category. Write 1 (extreme) to 4 (low), or no for none."
    )


def answer_of(words: str) -> bool | None:
    """Words that are only a yes or a no, or that say nothing, as that; None for all other words.

    >>> [answer_of(one) for one in ("Ja", "x", "FALSE", "-", "", "blurred")]
    [True, True, False, False, False, None]
    """
    plain = words.strip().casefold()
    if plain in _YES:
        return True
    return False if not plain or plain in _NO or says_nothing(plain) else None


def yes_or_no(row: TableRow, column: str) -> bool:
    """The cell as a yes or a no; an empty cell is a no."""
    value = text(row, column, longest=100).casefold()
    if not value or value in _YES or value in _NO:
        return value in _YES
    raise CellError(column, f"'{value}' is neither yes nor no. Write yes or no.")


def day(row: TableRow, column: str, *, today: date | None = None) -> str:
    """The cell as one ISO day, empty where it is empty; not after ``today`` where it is given."""
    if not text(row, column):
        return ""
    first, last = event_days(row, column, today=today)
    if first != last:
        raise CellError(column, f"'{text(row, column)}' is not one day. Write it like 2026-06-13.")
    return first


def event_days(row: TableRow, column: str, *, today: date | None = None) -> tuple[str, str]:
    """First and last ISO day of a Darwin Core eventDate cell.

    A month or a year alone stands for all of its days. It may be up to ``LONGEST_DAYS``
    long; days after ``today`` are refused where it is given.
    """
    value = text(row, column, required=True, longest=100)
    try:
        first, last = parse_event_days(year_first_of(value, row.day_order))
    except ValueError as error:
        if day_of_number(value):
            reason = (
                f"'{value}' is a spreadsheet's number for a day, {day_of_number(value)}. Format"
            )
            raise CellError(column, f"{reason} the column as text and write the days.") from error
        if is_slashed(value) and not row.day_order:
            reason = f"'{value}' can be read in two ways, or as no day."
            raise CellError(column, f"{reason} Write it like 2026-06-13.") from error
        raise CellError(column, f"{error} Write a day like 2026-06-13, or two with /.") from error
    if (last - first).days >= LONGEST_DAYS:
        raise CellError(column, f"'{value}' spans more than {LONGEST_DAYS} days.")
    if first == last and first.isoformat() in EMPTY_DAYS:
        raise CellError(
            column, f"A spreadsheet writes {value} where the cell was 0 or empty. Write the day."
        )
    if today is not None and last > today:
        raise CellError(column, f"'{value}' lies in the future. Check the year.")
    return first.isoformat(), last.isoformat()


def day_of_number(value: str) -> str:
    """The day that a spreadsheet means by a number of five digits; empty for anything else.

    >>> day_of_number("46166"), day_of_number("20260524")
    ('2026-05-24', '')
    """
    found = re.fullmatch(r"([1-9]\d{4})(?:[.,]\d+)?", value, re.ASCII)
    return (date(1899, 12, 30) + timedelta(days=int(found[1]))).isoformat() if found else ""


def parse_event_days(event_date: str) -> tuple[date, date]:
    """First and last day of a Darwin Core eventDate.

    Raises
    ------
    ValueError
        The text is no ISO 8601 date or interval, names a day that does not exist, ends before it
        begins, or has a year before 1758.

    Examples
    --------
    >>> parse_event_days("2026-06-13T14:07+02:00")
    (datetime.date(2026, 6, 13), datetime.date(2026, 6, 13))
    >>> parse_event_days("2026-02")
    (datetime.date(2026, 2, 1), datetime.date(2026, 2, 28))
    >>> parse_event_days("2026-06-13/15")
    (datetime.date(2026, 6, 13), datetime.date(2026, 6, 15))
    """
    start, slash, end = event_date.strip().partition("/")
    first_parts = _date_parts(start, event_date)
    if not slash:
        return _first_day(first_parts, event_date), _last_day(first_parts, event_date)
    last_parts = _date_parts(end, event_date, lead=first_parts)
    first, last = _first_day(first_parts, event_date), _last_day(last_parts, event_date)
    if last < first:
        raise ValueError(f"'{event_date}' ends before it begins.")
    return first, last


def year_first(day_written: str) -> str:
    """A day with stops as ISO 8601 writes it; anything else as it is.

    A spreadsheet set to a European country turns 2026-06-13 into 13.06.2026 by itself.

    >>> year_first("1.7.2026"), year_first("2026-07-01"), year_first("2026.7.1.")
    ('2026-07-01', '2026-07-01', '2026-07-01')
    """
    if found := re.fullmatch(r"(\d{4})\.(\d{1,2})\.(\d{1,2})\.?", day_written, re.ASCII):
        return f"{found[1]}-{found[2]:0>2}-{found[3]:0>2}"
    found = re.fullmatch(r"(\d{1,2})\.(\d{1,2})\.(\d{4})", day_written, re.ASCII)
    return f"{found[3]}-{found[2]:0>2}-{found[1]:0>2}" if found else day_written


def _date_parts(value: str, whole: str, lead: tuple[int, ...] = ()) -> tuple[int, ...]:
    """Year, month, day as far as written; an interval's end may leave out what its start says."""
    value = value.strip()
    clock = re.fullmatch(
        r"([\d-]+?)[T ]([01]\d|2[0-4])(:?[0-5]\d(:?[0-6]\d([.,]\d+)?)?)?(Z|[+-]\d{2}(:?\d{2})?)?",
        value,
    )
    written = clock.group(1) if clock else value
    written = year_first(written)
    if re.fullmatch(r"\d{4}(-\d{2}){0,2}", written, re.ASCII):
        return tuple(int(part) for part in written.split("-"))
    if re.fullmatch(r"\d{8}", written, re.ASCII):
        return int(written[:4]), int(written[4:6]), int(written[6:])
    if lead and re.fullmatch(r"\d{2}(-\d{2})?", written, re.ASCII):
        tail = tuple(int(part) for part in written.split("-"))
        if len(tail) < len(lead):
            return lead[: len(lead) - len(tail)] + tail
    if lead and re.fullmatch(r"T?\d{2}(:\d{2}){1,2}(Z|[+-]\d{2}(:?\d{2})?)?", value):
        return lead  # only the time of day changes: the interval lies within one day
    raise ValueError(f"'{whole}' is not a date in the form of ISO 8601.")


def _first_day(parts: tuple[int, ...], whole: str) -> date:
    year, month, day_of_month = (*parts, 1, 1)[:3]
    return _checked(year, month, day_of_month, whole)


def _last_day(parts: tuple[int, ...], whole: str) -> date:
    year, month = (*parts, 12)[:2] if len(parts) < 2 else parts[:2]
    if len(parts) == 3:
        return _checked(year, month, parts[2], whole)
    if not 1 <= month <= 12:
        raise ValueError(f"'{whole}' names a month that does not exist.")
    return _checked(year, month, calendar.monthrange(max(year, 1), month)[1], whole)


def _checked(year: int, month: int, day_of_month: int, whole: str) -> date:
    if year < FIRST_YEAR:
        raise ValueError(f"'{whole}' has a year before {FIRST_YEAR}.")
    try:
        return date(year, month, day_of_month)
    except ValueError:
        raise ValueError(f"'{whole}' names a day that does not exist.") from None
