"""The pieces a report is put together from: a table, a plot, a picture, a section."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from triage.estimates.interval import Estimate
from triage.exports.tables import csv_bytes
from triage.standards.darwin_core import snake_case

Rows = tuple[tuple[str, ...], ...]
Value = float | int | str | None

NOTHING = "\N{EN DASH}"
MINUS = "\N{MINUS SIGN}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """One table: every row goes to ``tables/NAME.csv``; the page and the PDF show ``shown``.

    ``columns`` are the headings of the CSV file, in the words of the standards; ``headings`` are
    those that people read. ``numeric`` are the positions of shown columns that hold numbers.
    """

    name: str
    title: str
    columns: tuple[str, ...]
    rows: Rows
    headings: tuple[str, ...]
    shown: Rows
    note: str = ""
    numeric: tuple[int, ...] = ()
    empty: str = "Nothing to show."
    values: tuple[tuple[Value, ...], ...] = ()

    def records(self) -> list[dict[str, Value]]:
        """Every row for a program: columns in snake_case, numbers as numbers, no NaN."""
        names = [snake_case(name) for name in self.columns]
        return [
            {
                name: None if isinstance(value, float) and math.isnan(value) else value
                for name, value in zip(names, row, strict=True)
            }
            for row in self.values or self.rows
        ]


@dataclass(frozen=True, slots=True, kw_only=True)
class Plot:
    """One plot as PNG and SVG with the data it shows; ``caption`` says what to see, ``size`` in px.

    ``wide`` plots take the whole width of a page.
    """

    name: str
    title: str
    caption: str
    png: bytes = field(repr=False)
    svg: bytes = field(repr=False)
    columns: tuple[str, ...]
    rows: Rows = field(repr=False)
    width: int
    height: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Example:
    """One sighting with its explanations; ``photos`` are small JPEGs with their captions."""

    heading: str
    lines: tuple[str, ...]
    photos: tuple[tuple[bytes, str], ...] = field(repr=False)
    table: Table


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A heading, sentences, plots, tables and examples, in that order."""

    anchor: str
    title: str
    sentences: tuple[str, ...] = ()
    plots: tuple[Plot, ...] = ()
    tables: tuple[Table, ...] = ()
    examples: tuple[Example, ...] = ()
    cautions: tuple[str, ...] = ()
    after: tuple[str, ...] = ()


def number(value: float | None, digits: int = 2) -> str:
    """A number for people: an en dash where there is none.

    >>> number(3.14159), number(float("nan")) == NOTHING, number(-0.5, 1) == f"{MINUS}0.5"
    ('3.14', True, True)
    """
    if value is None or math.isnan(value):
        return NOTHING
    if math.isinf(value):
        return "infinite" if value > 0 else f"{MINUS}infinite"
    text = f"{value:.{digits}f}"
    return text.replace("-", MINUS) if float(text) else f"{0:.{digits}f}"


def with_interval(found: Estimate, digits: int = 2) -> str:
    """A value with its 95 % interval; without one why, and what else is to be said of it.

    >>> with_interval(Estimate(value=0.5, low=0.25, high=0.75, variant=""))
    '0.50 (0.25 to 0.75)'
    >>> with_interval(Estimate(value=2.0, variant="", note="too few visits"), 1)
    '2.0 (too few visits)'
    """
    value = number(found.value, digits)
    parts = []
    if not (math.isnan(found.low) and math.isnan(found.high)):
        parts.append(f"{number(found.low, digits)} to {number(found.high, digits)}")
    parts += [found.note] if found.note else []
    return f"{value} ({'; '.join(parts)})" if parts else value


def raw(value: Value, digits: int = 0) -> str:
    """A value for a file: so many digits of a number, empty where there is none.

    Without a number of digits six, and from 1 on three decimals at most: more say nothing of a
    statistic, and would look like a place that is kept back.

    >>> raw(0.1), raw(float("nan")), raw(3), raw(2.0), raw(16.75013), raw(0.0123456789)
    ('0.1', '', '3', '2', '16.75', '0.0123457')
    """
    if value is None or isinstance(value, str):
        return value or ""
    if isinstance(value, int):
        return str(value)
    if math.isnan(value):
        return ""
    if digits:
        return f"{value:.{digits}g}"
    return f"{round(value, 3) if abs(value) >= 1 else value:.6g}"


def filed(columns: Sequence[str], rows: Rows) -> bytes:
    """The content of a CSV file of these rows."""
    return csv_bytes(columns, [dict(zip(columns, row, strict=True)) for row in rows])
