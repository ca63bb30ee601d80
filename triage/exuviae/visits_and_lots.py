"""Read tables of visits and of exuviae lots, with the rows that are refused."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Sequence
from datetime import date
from pathlib import Path
from typing import TypeVar

from triage.checklist import RANKS, canonical_name, rank_of_name
from triage.checklist.marks import Marks, take_doubts
from triage.errors import TableError
from triage.exuviae.held_already import (
    refuse_lot_without_zeros,
    refuse_other_lot,
    refuse_other_visit,
    refuse_site_for_visit,
    refuse_visit_without_zeros,
    spellings,
)
from triage.exuviae.records import ExuviaeLot, Site, Visit
from triage.exuviae.respelt_people import respelt_people
from triage.standards.tables import (
    LIST_SEPARATOR,
    CellError,
    DayOrder,
    RefusedRow,
    Table,
    TableRow,
    columns_of,
    day,
    event_days,
    identifier,
    integer,
    keep_held,
    person,
    read_table,
    records_of,
    refuse_respelt,
    sex,
    text,
    with_day_order,
    without_zeros,
    words,
)

MOST_PASSES = 100
MOST_EXUVIAE = 1_000_000  # of one taxon in one lot; thousands a visit are on record
_OF_VISITS, _OF_LOTS = columns_of("visits"), columns_of("lots")
_Record = TypeVar("_Record", Visit, ExuviaeLot)


def read_visits(
    path: Path,
    *,
    today: date | None = None,
    known: Sequence[Visit] = (),
    sites: Sequence[Site] = (),
    people: Collection[str] = (),
    day_order: DayOrder = "",
) -> tuple[list[Visit], list[RefusedRow]]:
    """Read visits; one without lots is a search that found nothing.

    ``eventDate`` is a day or an interval. Days after ``today`` are refused where it is given. The
    rows are compared with the visits ``known`` before and with the survey's ``sites``; a name near
    that of one of its ``people`` is told. Days with slashes are read in ``day_order``, or as the
    table itself shows.

    Raises
    ------
    TableError
        The file as a whole cannot be read.
    """
    held = {visit.event_id: visit for visit in known}
    bare: dict[str, list[Visit]] = defaultdict(list)
    for visit in known:
        bare[without_zeros(visit.event_id)].append(visit)

    def build(row: TableRow) -> Visit:
        visit = visit_of(row, today=today)
        refuse_site_for_visit(visit, sites)
        before = held.get(visit.event_id)
        refuse_other_visit(visit, before)
        refuse_visit_without_zeros(visit, bare)
        return keep_held(visit, before, row, _OF_VISITS["kept"])

    columns = (_OF_VISITS["required"], _OF_VISITS["optional"])
    table = _table(path, columns, day_order)
    visits, wrong = _records(table, build, "eventID", lambda visit: visit.event_id, held)
    named = {visit.recorded_by for visit in known}
    return visits, wrong + respelt_people(table.rows, sorted({*people, *named}))


def visit_of(row: TableRow, *, today: date | None = None) -> Visit:
    """One visit of a row with the terms above, of a table or of a label that was typed.

    Raises
    ------
    CellError
        With the term that cannot be used, and why.
    """
    event_id = identifier(row, "eventID", required=True)
    location_id = identifier(row, "locationID", required=True)
    if LIST_SEPARATOR in location_id:
        raise CellError("locationID", f"'{location_id}' are several. Write a visit for each site.")
    first_day, last_day = event_days(row, "eventDate", today=today)
    return Visit(
        event_id=event_id,
        location_id=location_id,
        first_day=first_day,
        last_day=last_day,
        sampling_protocol=words(row, "samplingProtocol", longest=500),
        sampling_effort=text(row, "samplingEffort", longest=500),
        recorded_by=person(row, "recordedBy"),
        passes=integer(row, "passes", least=1, most=MOST_PASSES) or 1,
        permit=identifier(row, "permit"),
        event_remarks=text(row, "eventRemarks"),
    )


def read_lots(
    path: Path,
    *,
    today: date | None = None,
    known: Sequence[ExuviaeLot] = (),
    people: Collection[str] = (),
    day_order: DayOrder = "",
) -> tuple[list[ExuviaeLot], list[RefusedRow]]:
    """Read exuviae lots, each the skins of one taxon from one visit under its lot number.

    The rows are compared with the lots ``known`` before; names of people and days are read as
    those of visits are.

    Raises
    ------
    TableError
        The file as a whole cannot be read.
    """
    held = {lot.catalog_number: lot for lot in known}
    bare: dict[str, list[ExuviaeLot]] = defaultdict(list)
    for lot in known:
        bare[without_zeros(lot.catalog_number)].append(lot)

    def build(row: TableRow) -> ExuviaeLot:
        lot = lot_of(row, today=today)
        before = held.get(lot.catalog_number)
        refuse_other_lot(lot, before)
        refuse_lot_without_zeros(lot, bare)
        lot = keep_held(lot, before, row, _OF_LOTS["kept"])
        same_name = before is not None and lot.scientific_name == before.scientific_name
        return keep_held(lot, before, row, _OF_LOTS["of_its_name"]) if same_name else lot

    columns = (_OF_LOTS["required"], _OF_LOTS["optional"])
    table = _table(path, columns, day_order)
    lots, wrong = _records(table, build, "catalogNumber", lambda lot: lot.catalog_number, held)
    named = {name for lot in known for name in (lot.recorded_by, lot.identified_by)}
    return lots, wrong + respelt_people(table.rows, sorted({*people, *named}))


def lot_of(row: TableRow, *, today: date | None = None) -> ExuviaeLot:
    """One lot of a row with the terms above, of a table or of a label that was typed.

    A lot needs an eventID, or a locationID and an eventDate; what it leaves out of the last two
    is taken from its visit by ``complete_lots``. ``individualCount`` 0 records a taxon that was
    looked for and not found.

    Raises
    ------
    CellError
        With the term that cannot be used, and why.
    """
    catalog_number = identifier(row, "catalogNumber", required=True)
    event_id = identifier(row, "eventID")
    location_id = identifier(row, "locationID")
    dated = bool(text(row, "eventDate"))
    for column, value in (("eventID", event_id), ("locationID", location_id)):
        if LIST_SEPARATOR in value:
            raise CellError(column, f"'{value}' are several. A lot is of one visit: divide it.")
    if not event_id and not (location_id and dated):
        raise CellError(
            "eventID", "The lot names no visit. Give eventID, or locationID and eventDate."
        )
    first_day, last_day = event_days(row, "eventDate", today=today) if dated else ("", "")
    name, rank = _name(row)
    count = integer(row, "individualCount", least=0, most=MOST_EXUVIAE)
    if count is None:
        raise CellError("individualCount", "The count is missing. Write how many exuviae.")
    identified_on = day(row, "dateIdentified", today=today)
    if identified_on and identified_on < first_day:
        reason = f"{identified_on} lies before the lot was found, {first_day}. Correct one."
        raise CellError("dateIdentified", reason)
    if str(count) in {one[:4] for one in (first_day, identified_on, str(today or "")) if one}:
        reason = f"{count} seems to be the year. Write how many exuviae; divide a lot of so many."
        raise CellError("individualCount", reason)
    determiner = person(row, "identifiedBy")
    if determiner and determiner == name:
        raise CellError("identifiedBy", f"{name} stands here and as the name. Write who named it.")
    return ExuviaeLot(
        catalog_number=catalog_number,
        event_id=event_id,
        location_id=location_id,
        first_day=first_day,
        last_day=last_day,
        scientific_name=name,
        taxon_rank=rank,
        individual_count=count,
        recorded_by=person(row, "recordedBy"),
        identified_by=determiner,
        date_identified=identified_on,
        identification_qualifier=text(row, "identificationQualifier", longest=200),
        sex=sex(row),
        occurrence_remarks=text(row, "occurrenceRemarks"),
    )


def _name(row: TableRow) -> tuple[str, str]:
    """The name as written and the stated rank; what the name means is the checklist's to say."""
    lines = text(row, "scientificName", required=True, longest=200).splitlines()
    written = "\n".join(line for line in (" ".join(one.split()) for one in lines) if line)
    if not re.search(r"[^\W\d_]{2}", written):
        raise CellError(
            "scientificName", f"'{written}' is not a scientific name. Write Odonata if it has none."
        )
    rank = text(row, "taxonRank", longest=100).casefold()
    if rank and rank not in RANKS:
        raise CellError("taxonRank", f"'{rank}' is not one of {', '.join(RANKS)}.")
    name = canonical_name(written)
    shape = rank_of_name(name) if name else ""
    # A single word may also name a subgenus or a suborder that the endings do not tell.
    fits = {shape} | ({"subgenus", "suborder"} if shape == "genus" else set())
    if rank and shape and rank not in fits:
        raise CellError(
            "taxonRank", f"'{written}' is the name of a {shape}, not of a {rank}. Correct one."
        )
    return written, rank


_OF_DOUBT = re.compile(
    r"certainty$|confiden|doubt|reliab|sicherheit|zweifel|pewno|wątpl|fiab|doute|probab",
    re.IGNORECASE,
)


def _refuse_doubt_beside(table: Table) -> None:
    """A column of doubt under a name that is not read: its names would count as certain."""
    for column in table.columns:
        marks = Marks()
        take_doubts(f" {column} ", marks)
        if _OF_DOUBT.search(column) or {"cf.", "aff.", "?"} & set(marks.doubts):
            raise TableError(
                f"column {column} seems to hold how sure the names are, and would not be read",
                failing=table.path,
                next_step="Rename it to identificationQualifier, or remove it.",
            )


def _table(
    path: Path, columns: tuple[tuple[str, ...], tuple[str, ...]], day_order: DayOrder
) -> Table:
    table = read_table(path, required=columns[0], optional=columns[1])
    _refuse_doubt_beside(table)
    return with_day_order(table, ("eventDate", "dateIdentified"), stated=day_order)


def _records(
    table: Table,
    build: Callable[[TableRow], _Record],
    column: str,
    identifier_of: Callable[[_Record], str],
    held: Iterable[str],
) -> tuple[list[_Record], list[RefusedRow]]:
    spelt = spellings(held)

    def record_of(row: TableRow) -> _Record:
        record = build(row)
        refuse_respelt(identifier_of(record), column, spelt)
        return record

    return records_of(
        table.rows, record_of, table.refused, named=lambda row: (column, text(row, column))
    )
