"""Name a lot of exuviae anew, and say what a label holds in few words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from triage.checklist import Checklist, read_name
from triage.exuviae.labels import LabelProblem
from triage.exuviae.records import ExuviaeLot
from triage.exuviae.visits_and_lots import lot_of
from triage.standards.tables import CellError, TableRow


def named_again(
    lot: ExuviaeLot,
    checklist: Checklist,
    *,
    name: str,
    identified_by: str,
    day: date,
    remarks: str = "",
    as_written: bool = False,
) -> ExuviaeLot | LabelProblem:
    """The lot under this name, or why it cannot be; ``as_written`` lets a name be unresolved."""
    found = read_name(name, checklist)
    if found.taxon is None and len(checklist) and not as_written:
        reason = f"{found.problem[:1].upper()}{found.problem[1:]}."
        return LabelProblem(field="name", reason=reason, near=found.near)
    cells = {
        "catalogNumber": lot.catalog_number,
        "eventID": lot.event_id or lot.catalog_number,  # asked for; the lot keeps its own
        "scientificName": name.strip(),
        "individualCount": str(lot.individual_count),
        "identifiedBy": " ".join(identified_by.split()),
        "dateIdentified": day.isoformat(),
        "occurrenceRemarks": remarks.strip() or lot.occurrence_remarks,
    }
    try:
        read = lot_of(TableRow(line=1, cells=cells))
    except CellError as error:
        return LabelProblem(field="name", reason=error.reason)
    return replace(
        lot,
        scientific_name=read.scientific_name,
        taxon_rank=read.taxon_rank,
        identified_by=read.identified_by,
        date_identified=read.date_identified,
        identification_qualifier="",
        occurrence_remarks=read.occurrence_remarks,
    )


def held_by(lots: Sequence[ExuviaeLot]) -> str:
    """What one label records, for the log."""
    if not lots:
        return "a visit that found nothing"
    number = lots[0].catalog_number.partition("/")[0]
    return f"jar {number}, {sum(lot.individual_count for lot in lots)} exuviae"
