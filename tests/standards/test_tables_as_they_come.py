"""Whole tables as they come from real desks, each judged before the program read it.

A row is given with the table as it must come out: taken as it was meant, or not at all. The rows
are compared with the demo's sites, visits, lots and checklist, as an import compares them.
"""

from __future__ import annotations

import tomllib
from datetime import date
from functools import cache
from importlib import resources
from pathlib import Path

import pytest

from triage.checklist import Checklist, Taxon, read_checklist, read_scores
from triage.determinations import read_determinations
from triage.determinations.statements import read_statement
from triage.errors import TableError, TriageError
from triage.exuviae import (
    ExuviaeLot,
    Site,
    Visit,
    read_lots,
    read_site_values,
    read_sites,
    read_visits,
    resolve_lots,
)

TODAY = date(2026, 11, 24)
TABLES = tomllib.loads(
    (Path(__file__).parents[1] / "data" / "odd_tables.toml").read_text(encoding="utf-8")
)["tables"]


@cache
def demo() -> tuple[list[Site], list[Visit], list[ExuviaeLot], list[Taxon]]:
    data = Path(str(resources.files("triage.demo").joinpath("data")))
    return (
        read_sites(data / "sites.csv")[0],
        read_visits(data / "visits.csv")[0],
        read_lots(data / "lots.csv")[0],
        read_checklist(data / "checklist.csv")[0],
    )


def rows_of(kind: str, path: Path) -> tuple[list[str], list[str]]:
    """The rows that come out of an import, each in one line, and why the others do not."""
    sites, visits, lots, taxa = demo()
    if kind.startswith("sites"):
        zone = "Europe/London" if kind == "sites_uk" else "Europe/Warsaw"
        known = sites if kind == "sites" else []
        found, refused = read_sites(path, zone=zone, known=known)
        return [
            f"{one.location_id} {one.locality} {one.decimal_latitude:.4f}"
            f" {one.decimal_longitude:.4f}"
            for one in found
        ], [one.reason for one in refused]
    if kind == "visits":
        made, refused = read_visits(path, today=TODAY, known=visits, sites=sites)
        return [
            f"{one.event_id} {one.location_id} {one.first_day} {one.last_day}" for one in made
        ], [one.reason for one in refused]
    if kind == "lots":
        read, refused = read_lots(path, today=TODAY, known=lots)
        resolved, unresolved = resolve_lots(read, Checklist(taxa))
        return [
            f"{one.catalog_number} {one.scientific_name} {one.individual_count} {one.sex}"
            for one in resolved
        ], [one.reason for one in (*refused, *unresolved)]
    if kind == "taxa":
        names, refused = read_checklist(path, known=taxa)
        return [f"{one.scientific_name} {one.rank} {one.family}" for one in names], [
            one.reason for one in refused
        ]
    if kind == "scores":
        scores, refused = read_scores(path, Checklist(taxa))
        return [f"{one.scientific_name} {one.score}" for one in scores], [
            one.reason for one in refused
        ]
    if kind == "values":
        values, refused = read_site_values(path, today=TODAY, sites=sites)
        return [
            f"{one.location_id} {one.measured_on} {one.variable} {one.value} {one.unit}"
            for one in values
        ], [one.reason for one in refused]
    said, refused = read_determinations(path)
    rows, reasons = [], [one.reason for one in refused]
    for row in said:
        try:
            one = read_statement(Checklist(taxa), row.statement)
        except TriageError as error:
            reasons.append(f"{error} {error.next_step}")
        else:
            rows.append(f"{row.sighting} {one.taxon} {one.sex} {row.identified_by}")
    return rows, reasons


@pytest.mark.parametrize("given", TABLES, ids=lambda one: one["odd"])
def test_a_row_is_taken_as_it_was_meant_or_refused_with_what_to_do(tmp_path, given):
    path = tmp_path / "table.csv"
    path.write_bytes(given["text"].encode(given.get("encoding", "utf-8")))
    try:
        taken, reasons = rows_of(given["kind"], path)
    except TableError as error:
        taken, reasons = [], [f"{error} {error.failing} {error.next_step}"]
    assert taken == given["rows"]
    assert all(reason.endswith((".", "'", "?")) for reason in reasons)
    assert all(len(reason.split()) >= 5 for reason in reasons)
