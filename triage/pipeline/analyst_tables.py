"""Imports tables of taxon scores and of values measured at sites."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

from triage.checklist import Checklist, canonical_name
from triage.errors import TableError
from triage.pipeline.tables import ImportOutcome, latest_day, save_records
from triage.standards.tables import (
    CellError,
    RefusedRow,
    Table,
    TableRow,
    day,
    number,
    read_table,
    text,
)
from triage.store import evidence
from triage.store.connection import Survey
from triage.store.history import Change

SCORE_COLUMNS = ("scientificName", "score")
MEASUREMENT_TERMS = {
    "locationID": "site",
    "measurementDeterminedDate": "date",
    "measurementType": "variable",
    "measurementValue": "value",
    "measurementUnit": "unit",
    "measurementMethod": "method",
}
"""Darwin Core terms and the plain words that may head the columns in their place."""

_NEEDED = 4  # of the terms above; unit and method may be missing

_Key = tuple[str, ...]


def import_scores(survey: Survey, path: Path, *, by: str, now: datetime) -> ImportOutcome:
    """Read scores of taxa, insert or update them under their index.

    Columns: scientificName, score, and index (the name of the index; else that of the file).
    """
    table = read_table(path, required=SCORE_COLUMNS, optional=("index",))
    checklist = Checklist(evidence.taxa(survey))

    def score(row: TableRow) -> dict[str, Any]:
        written = text(row, "scientificName", required=True, longest=200)
        name = canonical_name(written)
        if not name:
            raise CellError("scientificName", f"'{written}' is no scientific name.")
        taxon = checklist.resolve(name)
        return {
            "index_name": text(row, "index", longest=200) or path.stem,
            "scientific_name": taxon.scientific_name if taxon else name,
            "score": _needed(row, "score"),
        }

    return _import(
        survey,
        path,
        table,
        score,
        key=lambda r: (r["index_name"], r["scientific_name"]),
        column="scientificName",
        save=evidence.save_scores,
        noun="scores",
        by=by,
        now=now,
    )


def import_measurements(survey: Survey, path: Path, *, by: str, now: datetime) -> ImportOutcome:
    """Read measurements taken at sites, insert or update them by site, day, variable and method.

    Columns: site, date, variable, value, unit, method, or the Darwin Core terms for them. A site
    that is not imported yet is no error; the report counts such rows.
    """
    table, column = _measurement_table(path)

    def measurement(row: TableRow) -> dict[str, Any]:
        measured_on = day(row, column["measurementDeterminedDate"], today=latest_day(now))
        if not measured_on:
            raise CellError(column["measurementDeterminedDate"], "The cell is empty. Fill it in.")
        return {
            "location_id": text(row, column["locationID"], required=True, longest=200),
            "measured_on": measured_on,
            "variable": text(row, column["measurementType"], required=True, longest=200),
            "value": _needed(row, column["measurementValue"]),
            "unit": text(row, column["measurementUnit"], longest=100),
            "method": text(row, column["measurementMethod"], longest=500),
        }

    return _import(
        survey,
        path,
        table,
        measurement,
        key=lambda r: (r["location_id"], r["measured_on"], r["variable"], r["method"]),
        column=column["locationID"],
        save=evidence.save_site_measurements,
        noun="site-values",
        by=by,
        now=now,
    )


def _measurement_table(path: Path) -> tuple[Table, dict[str, str]]:
    terms = list(MEASUREMENT_TERMS)
    plain = list(MEASUREMENT_TERMS.values())
    try:
        table = read_table(path, required=plain[:_NEEDED], optional=plain[_NEEDED:])
        return table, MEASUREMENT_TERMS
    except TableError as error:
        try:
            table = read_table(path, required=terms[:_NEEDED], optional=terms[_NEEDED:])
        except TableError:
            raise error from None
        return table, {term: term for term in terms}


def _needed(row: TableRow, column: str) -> float:
    if text(row, column, longest=100).startswith(("<", ">")):
        raise CellError(
            column,
            f"'{text(row, column)}' is a limit and no value. Write the value that your method "
            "puts in its place, and say so in the method.",
        )
    value = number(row, column)
    if value is None:
        raise CellError(column, "The cell is empty. Fill it in.")
    return value


def _import(
    survey: Survey,
    path: Path,
    table: Table,
    build: Callable[[TableRow], dict[str, Any]],
    *,
    key: Callable[[Mapping[str, Any]], _Key],
    column: str,
    save: Callable[[Survey, Sequence[Mapping[str, Any]]], list[Change]],
    noun: str,
    by: str,
    now: datetime,
) -> ImportOutcome:
    refused = list(table.refused)
    taken: dict[_Key, int] = {}
    records: list[dict[str, Any]] = []
    for row in table.rows:
        try:
            record = build(row)
            if key(record) in taken:
                raise CellError(
                    column,
                    f"The same entry stands on line {taken[key(record)]} already. Keep one of the "
                    "two.",
                )
        except CellError as error:
            refused.append(RefusedRow(line=row.line, column=error.column, reason=error.reason))
            continue
        taken[key(record)] = row.line
        records.append(record)
    return save_records(survey, path, records, refused, save, noun, by=by, now=now)
