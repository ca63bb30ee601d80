"""A table from records and one declaration of its columns: for the file, for people, or both."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from triage.estimates.interval import Estimate
from triage.report.parts import NOTHING, Table, Value, number, raw, table, with_interval

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Column(Generic[T]):
    """One column. ``name`` heads it in the file, ``heading`` for people; without it is left out.

    ``value`` gives what the file holds of a record, ``shown`` what people read (by default the
    same). ``numeric`` columns are set to the right. ``digits`` of a number go into the file.
    """

    name: str
    heading: str
    value: Callable[[T], Value]
    shown: Callable[[T], str] | None = None
    numeric: bool = False
    digits: int = 6

    def text(self, record: T) -> str:
        """What people read."""
        return raw(self.value(record)) if self.shown is None else self.shown(record)


def counted(
    name: str, heading: str, value: Callable[[T], Value], shown: Callable[[T], str] | None = None
) -> Column[T]:
    """A column set to the right, as numbers are."""
    return Column(name, heading, value, shown, numeric=True)


def measured(name: str, heading: str, value: Callable[[T], float], digits: int = 2) -> Column[T]:
    """A number in full in the file, with so many digits for people."""
    return Column(name, heading, value, lambda one: number(value(one), digits), numeric=True)


def only_shown(heading: str, shown: Callable[[T], str], *, numeric: bool = False) -> Column[T]:
    """A column that the file does not have."""
    return Column("", heading, shown, None, numeric)


def only_filed(**columns: Callable[[T], Value]) -> tuple[Column[T], ...]:
    """Columns that only the file has, by their names."""
    return tuple(Column(name, "", value) for name, value in columns.items())


def of_site(labels: Mapping[str, str]) -> tuple[Column[Any], ...]:
    """The site of a record: its identifier for the file, and what it is called."""
    return (
        *only_filed(locationID=lambda one: one.location_id),
        Column("locality", "site", lambda one: labels.get(one.location_id, one.location_id)),
    )


def of_scope(labels: Mapping[str, str]) -> Column[Any]:
    """Of what a record speaks: a site, a year or the whole survey."""
    known = {**labels, "all": "whole survey"}
    return Column(
        "scope", "where or when", lambda one: one.scope, lambda one: known.get(one.scope, one.scope)
    )


def interval(
    names: tuple[str, str, str],
    heading: str,
    found: Callable[[T], Estimate | None],
    digits: int = 2,
) -> tuple[Column[T], ...]:
    """An estimate: value, low and high in the file, one text for people."""

    def part(name: str) -> Callable[[T], Value]:
        def value(record: T) -> Value:
            estimate = found(record)
            return None if estimate is None else float(getattr(estimate, name))

        return value

    def shown(record: T) -> str:
        estimate = found(record)
        return NOTHING if estimate is None else with_interval(estimate, digits)

    value, low, high = names
    return (
        Column(value, heading, part("value"), shown, numeric=True),
        Column(low, "", part("low")),
        Column(high, "", part("high")),
    )


def declared(
    name: str,
    title: str,
    records: Iterable[T],
    columns: Sequence[Column[T]],
    *,
    shown: Iterable[T] | None = None,
    note: str = "",
    empty: str = "Nothing to show.",
    most: int = 40,
) -> Table:
    """A table: every record in the file, those of ``shown`` (by default all) for people."""
    every = list(records)
    filed = [one for one in columns if one.name]
    read = [one for one in columns if one.heading]
    values = [[one.value(record) for one in filed] for record in every]
    return table(
        name,
        title,
        [one.name for one in filed],
        [[raw(x, one.digits) for x, one in zip(row, filed, strict=True)] for row in values],
        values=values,
        headings=[one.heading for one in read],
        shown=[
            [one.text(record) for one in read] for record in (every if shown is None else shown)
        ],
        numeric=[index for index, one in enumerate(read) if one.numeric],
        note=note,
        empty=empty,
        most=most,
    )
