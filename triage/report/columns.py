"""Fills a table from records: tables.toml declares its columns, for the file and for people."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from operator import attrgetter
from typing import Any

from triage.estimates.interval import Estimate
from triage.report.material import Material
from triage.report.parts import NOTHING, Table, number, raw, with_interval
from triage.report.wording import day_of_year, site_labels, written
from triage.standards.darwin_core import snake_case

Says = Mapping[str, Callable[[Any], Any]]
"""What a declaration calls by a name and no record holds under it."""

_READ_AS: dict[str, Callable[[Any], str]] = {
    "day": day_of_year,
    "dash": lambda text: text or NOTHING,
}
_PARTS = ("value", "low", "high")  # of an estimate


def of_site(material: Material) -> Says:
    """The site of a record as people call it, or its identifier."""
    labels = site_labels(material)
    return {"site": lambda one: labels.get(one.location_id, one.location_id)}


def of_scope(material: Material) -> Says:
    """Of what a record speaks: a site, a year or the whole survey."""
    labels = {**site_labels(material), "all": "whole survey"}
    return {"where": lambda one: labels.get(one.scope, one.scope)}


def declared(
    name: str,
    records: Iterable[Any],
    *,
    shown: Iterable[Any] | None = None,
    says: Says | None = None,
    **told: object,
) -> Table:
    """A table: every record in the file, those of ``shown`` (by default all) for people.

    ``told`` are values that its note names.
    """
    table, every = written("tables.toml")[name], list(records)
    filed = [one for one in table["columns"] if "file" in one]
    read = [one for one in table["columns"] if "people" in one]
    values = [
        tuple(v for one in filed for v in _filed(one, record, says or {})) for record in every
    ]
    digits = [one.get("digits", 0) for one in filed for _ in _headers(one)]
    visible = every if shown is None else list(shown)
    return Table(
        name=name,
        title=table.get("title", ""),
        columns=tuple(header for one in filed for header in _headers(one)),
        rows=tuple(tuple(map(raw, row, digits)) for row in values),
        headings=tuple(one["people"] for one in read),
        shown=tuple(
            tuple(_read(one, record, says or {}) for one in read)
            for record in visible[: table.get("most", 40)]
        ),
        note=table.get("note", "").format(**told),
        numeric=tuple(i for i, one in enumerate(read) if _is_numeric(one)),
        empty=table.get("empty", "Nothing to show."),
        values=tuple(values),
    )


def _headers(column: dict[str, Any]) -> list[str]:
    return column["file"] if isinstance(column["file"], list) else [column["file"]]


def _is_numeric(column: dict[str, Any]) -> bool:
    estimate = isinstance(column.get("file"), list)
    return column.get("right", False) or estimate or isinstance(column.get("as"), int)


def _value(column: dict[str, Any], record: Any, says: Says) -> Any:
    """What a record has in a column; several names are one text."""
    of = column.get("of") or column.get("file") or column["people"]
    if of in says:
        found = says[of](record)
    elif isinstance(record, Mapping):
        found = record.get(of)
    else:
        found = attrgetter(of if "of" in column else snake_case(of))(record)
    return " | ".join(found) if isinstance(found, tuple) else found


def _filed(column: dict[str, Any], record: Any, says: Says) -> list[Any]:
    value = _value(column, record, says)
    if not isinstance(column["file"], list):
        return [value]
    return [None if value is None else float(getattr(value, part)) for part in _PARTS]


def _read(column: dict[str, Any], record: Any, says: Says) -> str:
    value, how = _value(column, record, says), column.get("as")
    if isinstance(value, Estimate):
        return with_interval(value, 2 if how is None else how)
    if isinstance(column.get("file"), list):
        return NOTHING
    if isinstance(how, int):
        return number(value, how)
    return _READ_AS[how](value) if how else raw(value)
