"""Sites, visits, lots and the checklist in, references that lead nowhere or disagree out.

Tables are imported in any order, so a reference is never an error while a table is read.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from triage.checklist import Checklist
from triage.exuviae.records import ExuviaeLot, Site, Visit


@dataclass(frozen=True, slots=True, kw_only=True)
class UnresolvedReference:
    """One reference that is not met: which record, its column and value, and what to do."""

    record: Literal["visit", "lot"]
    identifier: str
    column: str
    value: str
    reason: str


def complete_lots(lots: Iterable[ExuviaeLot], visits: Iterable[Visit]) -> list[ExuviaeLot]:
    """The lots with place and days that they left out, taken from their visits where known."""
    by_event = {visit.event_id: visit for visit in visits}
    completed = []
    for lot in lots:
        visit = by_event.get(lot.event_id)
        if visit is not None and not (lot.location_id and lot.first_day):
            lot = replace(
                lot,
                location_id=lot.location_id or visit.location_id,
                first_day=lot.first_day or visit.first_day,
                last_day=lot.last_day or visit.last_day,
            )
        completed.append(lot)
    return completed


def unresolved_references(
    sites: Iterable[Site],
    visits: Sequence[Visit],
    lots: Iterable[ExuviaeLot],
    checklist: Checklist,
) -> list[UnresolvedReference]:
    """List what visits and lots refer to and the survey does not hold, and where they disagree."""
    locations = {site.location_id for site in sites}
    by_event = {visit.event_id: visit for visit in visits}
    found = [
        UnresolvedReference(
            record="visit",
            identifier=visit.event_id,
            column="locationID",
            value=visit.location_id,
            reason="No site has this locationID. Import the site, or correct the visit.",
        )
        for visit in visits
        if visit.location_id not in locations
    ]
    for lot in lots:
        found.extend(_of_lot(lot, by_event.get(lot.event_id), locations, checklist))
    return found


def _of_lot(
    lot: ExuviaeLot, visit: Visit | None, locations: set[str], checklist: Checklist
) -> list[UnresolvedReference]:
    doubts: list[tuple[str, str, str]] = []
    if lot.event_id and visit is None:
        doubts.append(
            (
                "eventID",
                lot.event_id,
                "No visit has this eventID. Import the visit, or correct the lot.",
            )
        )
    if lot.location_id and lot.location_id not in locations:
        doubts.append(
            (
                "locationID",
                lot.location_id,
                "No site has this locationID. Import the site, or correct the lot.",
            )
        )
    if visit is not None and lot.location_id and lot.location_id != visit.location_id:
        doubts.append(
            (
                "locationID",
                lot.location_id,
                f"Its visit was to {visit.location_id}. Correct the lot or the visit.",
            )
        )
    if (
        visit is not None
        and lot.first_day
        and (lot.last_day < visit.first_day or lot.first_day > visit.last_day)
    ):
        doubts.append(
            (
                "eventDate",
                f"{lot.first_day}/{lot.last_day}",
                f"Its visit was {visit.first_day}/{visit.last_day}. Correct one of the two.",
            )
        )
    if checklist.resolve(lot.scientific_name) is None:
        doubts.append(
            (
                "scientificName",
                lot.scientific_name,
                "The checklist has no such taxon. Add it there, or correct the name.",
            )
        )
    return [
        UnresolvedReference(
            record="lot",
            identifier=lot.catalog_number,
            column=column,
            value=value,
            reason=reason,
        )
        for column, value, reason in doubts
    ]
