"""Resolves the names of lots and lists references that lead nowhere or disagree.

Tables are imported in any order, so a reference is never an error while a table is read.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from triage.checklist import (
    Checklist,
    Taxon,
    WrittenName,
    name_alone,
    rank_of_name,
    read_qualified,
)
from triage.exuviae.records import ExuviaeLot, Site, Visit


@dataclass(frozen=True, slots=True, kw_only=True)
class UnresolvedReference:
    """One reference that is not met: which record, its column and value, and what to do."""

    record: Literal["visit", "lot", "sighting"]
    identifier: str
    column: str
    value: str
    reason: str


def placed(
    lots: Iterable[ExuviaeLot], visits: Iterable[Visit], sites: Collection[str]
) -> list[ExuviaeLot]:
    """The lots, complete, that have a day and one of these sites; the others wait for theirs."""
    completed = complete_lots(lots, visits)
    return [lot for lot in completed if lot.first_day and lot.location_id in sites]


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


def resolve_lots(
    lots: Iterable[ExuviaeLot], checklist: Checklist
) -> tuple[list[ExuviaeLot], list[UnresolvedReference]]:
    """Lots under their accepted names, and those whose words the checklist does not resolve.

    Doubt in the words (``cf.``) joins the qualifier of its own column, the words themselves are
    kept as ``verbatim_identification``. An unresolved lot counts nowhere until the checklist has
    the name or the lot is corrected. A survey without a checklist takes names by their shape.
    """
    resolved: list[ExuviaeLot] = []
    unresolved: list[UnresolvedReference] = []
    read: dict[tuple[str, str], WrittenName] = {}
    for lot in lots:
        written = lot.scientific_name
        words = written, lot.identification_qualifier
        if words not in read:
            read[words] = read_qualified(*words, checklist if len(checklist) else _shaped(written))
        problem = _name_problem(lot, read[words])
        if problem:
            column = "scientificName"
            unresolved.append(_open_reference("lot", lot.catalog_number, column, written, problem))
        else:
            resolved.append(_named(lot, read[words]))
    return resolved, unresolved


def _shaped(written: str) -> Checklist:
    """A checklist of the one name that the words hold, for a survey that has none."""
    name = name_alone(written)
    return Checklist([Taxon(scientific_name=name, rank=rank_of_name(name))] if name else [])


def _name_problem(lot: ExuviaeLot, found: WrittenName) -> str:
    """Why the words of a lot do not resolve, or contradict its own columns; empty if they do."""
    if found.taxon is None:
        return f"{found.problem[:1].upper()}{found.problem[1:]}. {found.next_step}"
    if lot.taxon_rank and not found.alternatives and lot.taxon_rank != found.rank:
        return (
            f"{found.scientific_name} is a {found.rank}, not a {lot.taxon_rank}. "
            "Correct the name or taxonRank."
        )
    if beside := found.life_stage or found.behavior:
        return f"The name says {beside}, and a lot holds skins. Write the name alone."
    if lot.sex and found.sex and lot.sex != found.sex:
        return f"The name says {found.sex} and the column sex says {lot.sex}. Correct one of them."
    return ""


def _named(lot: ExuviaeLot, found: WrittenName) -> ExuviaeLot:
    return replace(
        lot,
        scientific_name=found.scientific_name,
        taxon_rank=found.rank,
        identification_qualifier=found.qualifier,
        sex=lot.sex or found.sex,
        verbatim_identification=found.verbatim,
    )


def open_references(
    sites: Iterable[Site], visits: Sequence[Visit], lots: Iterable[ExuviaeLot]
) -> list[UnresolvedReference]:
    """List what visits and lots refer to and the survey does not hold, and where they disagree."""
    locations = {site.location_id for site in sites}
    by_event = {visit.event_id: visit for visit in visits}
    missing = (
        "No site has this locationID, so the visit and its lots are not exported. "
        "Import the site, or correct the visit."
    )
    found = [
        _open_reference("visit", visit.event_id, "locationID", visit.location_id, missing)
        for visit in visits
        if visit.location_id not in locations
    ]
    for lot in lots:
        found += [
            _open_reference("lot", lot.catalog_number, *doubt)
            for doubt in _doubts(lot, by_event.get(lot.event_id), locations)
        ]
    return found


def _open_reference(
    record: Literal["visit", "lot"], identifier: str, column: str, value: str, reason: str
) -> UnresolvedReference:
    return UnresolvedReference(
        record=record, identifier=identifier, column=column, value=value, reason=reason
    )


def _doubts(
    lot: ExuviaeLot, visit: Visit | None, locations: set[str]
) -> Iterator[tuple[str, str, str]]:
    """Column, value and reason of each reference of a lot that leads nowhere or disagrees."""
    if lot.event_id and visit is None:
        reason = (
            "No visit has this eventID, so the lot counts nowhere and is not exported. "
            "Import the visit, or correct the lot."
        )
        yield "eventID", lot.event_id, reason
    if lot.location_id and lot.location_id not in locations:
        reason = (
            "No site has this locationID, so the lot counts nowhere and is not exported. "
            "Import the site, or correct the lot."
        )
        yield "locationID", lot.location_id, reason
    if visit is None:
        return
    if lot.location_id and lot.location_id != visit.location_id:
        reason = f"Its visit was to {visit.location_id}. Correct the lot or the visit."
        yield "locationID", lot.location_id, reason
    if lot.first_day and (lot.last_day < visit.first_day or lot.first_day > visit.last_day):
        reason = f"Its visit was {visit.first_day}/{visit.last_day}. Correct one of the two."
        yield "eventDate", f"{lot.first_day}/{lot.last_day}", reason
    if lot.date_identified and lot.date_identified < visit.first_day:
        reason = f"Its visit was later, {visit.first_day}. Correct one of the two."
        yield "dateIdentified", lot.date_identified, reason
