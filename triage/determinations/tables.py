"""Reads a table with one determination a row: who says what of which sighting, rows refused."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from triage.determinations.records import Statement
from triage.determinations.statements import read_life_stage
from triage.errors import UnknownError
from triage.packets import is_key
from triage.standards.tables import (
    CellError,
    RefusedRow,
    TableRow,
    answer_of,
    columns_of,
    identifier,
    person,
    read_table,
    records_of,
    sex,
    text,
    yes_or_no,
)

LEAST_DIGITS = 8  # of a sighting's identifier in a table: fewer may be what a spreadsheet left
COLUMNS = columns_of("determinations")["optional"]
_SAYING = tuple(one for one in COLUMNS[2:] if one != "identifiedBy")


@dataclass(frozen=True, slots=True, kw_only=True)
class SaidRow:
    """One row: its line, the sighting's identifier, who says it (or nobody), and what."""

    line: int
    sighting: str
    identified_by: str
    statement: Statement


def read_determinations(
    path: Path, *, passed_over: tuple[str, ...] = ()
) -> tuple[list[SaidRow], list[RefusedRow]]:
    """Read what determiners say; a row without a statement is one not looked at, and no refusal.

    ``passed_over`` are columns of a table of ours that was filled in; any other column that is not
    known stops the import, since it may hold who said it.

    Raises
    ------
    TableError
        The file as a whole cannot be read.
    """
    table = read_table(path, optional=COLUMNS, passed_over=passed_over)
    said = [row for row in table.rows if any(row.cells.get(one) for one in _SAYING)]

    def said_in(row: TableRow) -> SaidRow | None:
        one = _said(row)
        return None if one.statement == Statement() else one

    def named(row: TableRow) -> tuple[str, str]:
        by = " ".join(row.cells.get("identifiedBy", "").split()) or "the same determiner"
        return "sighting", f"{_sighting(row)} by {by}"

    return records_of(said, said_in, table.refused, named=named)


def _said(row: TableRow) -> SaidRow:
    taxon, by = text(row, "scientificName", longest=200), person(row, "identifiedBy")
    if by and by == taxon:
        raise CellError("identifiedBy", f"{by} stands here and as the name. Write who named it.")
    return SaidRow(
        line=row.line,
        sighting=_sighting(row),
        identified_by=" ".join(by.split()),
        statement=Statement(
            taxon=taxon,
            cannot_tell=_reason(row, "cannotTell"),
            not_an_adult=_reason(row, "notAnAdult"),
            qualifier=text(row, "identificationQualifier", longest=200),
            sex=sex(row),
            life_stage=_life_stage(row),
            behavior=text(row, "behavior", longest=500),
            remarks=text(row, "identificationRemarks"),
            second_opinion=yes_or_no(row, "secondOpinion"),
        ),
    )


def _reason(row: TableRow, column: str) -> str:
    """Why there is no name; a no, as of a box that nobody ticked, is no reason."""
    written = text(row, column)
    return "" if answer_of(written) is False else written


def _sighting(row: TableRow) -> str:
    column = "sighting" if row.cells.get("sighting") else "occurrenceID"
    written = identifier(row, column).lstrip("'")  # which a hand put there to keep it a text
    if not written:
        raise CellError("sighting", "The row names no sighting. Copy it from the queue.")
    if row.cells.get("occurrenceID", written).lstrip("'") != written:
        raise CellError("occurrenceID", "sighting and occurrenceID differ. Keep one of the two.")
    if not is_key(written) and not re.fullmatch(rf"[0-9a-fA-F]{{{LEAST_DIGITS},}}", written):
        raise CellError(
            column,
            f"'{written}' is not the identifier of a sighting: {LEAST_DIGITS} or more of its digits"
            " are needed. Copy it from the queue, into a column formatted as text.",
        )
    return written.lower()


def _life_stage(row: TableRow) -> str:
    try:
        return read_life_stage(text(row, "lifeStage", longest=100))
    except UnknownError as error:
        raise CellError("lifeStage", str(error)) from error
