"""Import a table handed to the desk, and show refused rows beside their reasons."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import NamedTuple, cast

from flask import Blueprint, render_template, request

from triage.desk import opened
from triage.desk.arrivals import safe_name
from triage.errors import TableError, UnknownError
from triage.pipeline import tables
from triage.pipeline.determine import determine_from_table
from triage.standards.tables import DayOrder, RefusedRow
from triage.standards.tables.encodings import decoded

room = Blueprint("imports", __name__, url_prefix="/tables")
ROWS_SHOWN = 500  # of the refused ones; more than anybody corrects in one sitting


class Kind(NamedTuple):
    """One kind of table: what it is called, and its columns."""

    title: str
    columns: str


KINDS: Mapping[str, Kind] = {
    "visits": Kind("visits", "eventID, locationID, eventDate"),
    "lots": Kind("exuviae lots", "catalogNumber, eventID, scientificName"),
    "sites": Kind("sites", "locationID, locality, coordinates"),
    "checklist": Kind("checklist", "scientificName, taxonRank"),
    "determinations": Kind("determinations", "sighting, scientificName"),
    "scores": Kind("scores of taxa", "scientificName, score"),
    "site-values": Kind("values measured at sites", "site, date, variable, value"),
}
JARS = ("visits", "lots")


@room.post("/take-in")
def take_in() -> str:
    """Import one table by its kind; a row that cannot be used is shown with why."""
    person = opened.known_person()
    kind, file = request.form.get("kind", ""), request.files.get("table")
    if kind not in KINDS:
        raise UnknownError(
            "it is not said what kind of table this is",
            failing=kind[:40] or "kind",
            next_step="Choose the kind, then the file.",
        )
    if file is None or not file.filename:
        raise UnknownError(
            "no file was chosen", failing="table", next_step="Choose a table (CSV) first."
        )
    with tempfile.TemporaryDirectory(prefix="triage-table-") as folder:
        path = Path(folder) / safe_name(file.filename)
        file.save(path)
        try:
            outcome = _imported(kind, path, person)
        except TableError as error:  # of whose folder nobody has heard
            raise TableError(error.what, failing=path.name, next_step=error.next_step) from error
        lines = _lines(path)
    return render_template(
        "imports.html",
        kind=KINDS[kind],
        name=path.name,
        outcome=outcome,
        refused=[(row, _line(lines, row)) for row in outcome.refused[:ROWS_SHOWN]],
        back=back if (back := request.form.get("back", "")) in _BACK else _BACK[0],
    )


def _imported(kind: str, path: Path, person: str) -> tables.ImportOutcome:
    survey, now = opened.survey(), opened.now()
    if kind == "determinations":
        return determine_from_table(survey, path, by=person, now=now)
    twins = request.form.get("twins") == "yes"
    outcome = tables.import_table(
        survey,
        cast(tables.Kind, kind),
        path,
        by=person,
        now=now,
        twins=twins,
        day_order=_ORDERS.get(request.form.get("days", ""), ""),
    )
    if outcome.new or outcome.changed:
        opened.renew()
    return outcome


_ORDERS: Mapping[str, DayOrder] = {"day": "day first", "month": "month first"}
_BACK = ("/jars/", "/survey/tables")


def _lines(path: Path) -> list[str]:
    """The lines of a table as text, for showing a refused one: reading them is the importer's."""
    return decoded(path.read_bytes())[0].splitlines()


def _line(lines: list[str], row: RefusedRow) -> str:
    return lines[row.line - 1][:400] if 0 < row.line <= len(lines) else ""
