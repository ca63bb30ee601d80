"""Keep taxa, sites, visits, lots and what is measured of them."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from triage.checklist import Checklist, Taxon, TaxonScore
from triage.exuviae import ExuviaeLot, Site, SiteMeasurement, Visit
from triage.standards.groups import in_groups
from triage.store.connection import Survey
from triage.store.history import Change, save_rows
from triage.store.rows import Record, record_of, values_of

_KEYS: Mapping[type, tuple[str, Sequence[str]]] = {
    Taxon: ("taxa", ["scientific_name"]),
    TaxonScore: ("taxon_scores", ["index_name", "scientific_name"]),
    Site: ("sites", ["location_id"]),
    SiteMeasurement: ("site_measurements", ["location_id", "measured_on", "variable", "method"]),
    Visit: ("visits", ["event_id"]),
    ExuviaeLot: ("lots", ["catalog_number"]),
}
"""By record, the table that keeps it and the columns that name a row of it."""


def save(survey: Survey, records: Iterable[object]) -> list[Change]:
    """Insert or update taxa, sites, visits, lots, scores or measurements; returns what changed.

    The name of a lot is kept as it is written.
    """
    changes = []
    for record in records:
        table, keys = _KEYS[type(record)]
        values = values_of(record)
        if isinstance(record, Taxon):
            del values["season"]
            values["season_first"], values["season_last"] = record.season or (None, None)
        if isinstance(record, ExuviaeLot):
            del values["verbatim_identification"]  # made of the written name, when resolved
        changes += save_rows(survey, table, keys, [values])
    return changes


def taxa(survey: Survey) -> list[Taxon]:
    """The checklist, by name."""
    return [
        record_of(
            Taxon,
            row,
            season=(row["season_first"], row["season_last"]) if row["season_first"] else None,
        )
        for row in survey.run("select * from taxa order by scientific_name")
    ]


def checklist(survey: Survey) -> Checklist:
    """The taxa that the survey accepts."""
    return Checklist(taxa(survey))


def sites(survey: Survey) -> list[Site]:
    """All sites, by locationID."""
    return _every(survey, "sites", Site, "location_id")


def site(survey: Survey, location_id: str) -> Site | None:
    """The site of this locationID, or None."""
    return survey.record(Site, "select * from sites where location_id = ?", location_id)


def visits(survey: Survey) -> list[Visit]:
    """All visits, by eventID."""
    return _every(survey, "visits", Visit, "event_id")


def lots(survey: Survey) -> list[ExuviaeLot]:
    """All lots, by catalogNumber."""
    return _every(survey, "lots", ExuviaeLot, "catalog_number")


def lots_at(survey: Survey, sites: Collection[str]) -> tuple[list[ExuviaeLot], list[Visit]]:
    """Lots of these sites by catalogNumber, and the visits that those and the sites have.

    A lot without a site of its own lies where its visit was.
    """
    visits = survey.records_in(Visit, "select * from visits where location_id in (...)", sites)
    made = [visit.event_id for visit in visits]
    query = "select * from lots where location_id = '' and event_id in (...)"
    found = survey.records_in(ExuviaeLot, "select * from lots where location_id in (...)", sites)
    found += survey.records_in(ExuviaeLot, query, made)
    found.sort(key=lambda lot: lot.catalog_number)
    elsewhere = {lot.event_id for lot in found} - set(made)
    return found, [*visits, *_visits(survey, elsewhere)]


def lots_worded_apart(survey: Survey) -> list[ExuviaeLot]:
    """One lot for each name, qualifier, rank and sex as they were written."""
    return survey.records(
        ExuviaeLot,
        "select * from lots where catalog_number in (select min(catalog_number) from lots group by"
        " scientific_name, taxon_rank, sex, identification_qualifier) order by catalog_number",
    )


def of_open_references(survey: Survey) -> tuple[list[Visit], list[ExuviaeLot]]:
    """Lots and visits that refer to nothing, lots unlike their visits, and the visits of those."""
    lots = survey.records(
        ExuviaeLot,
        "select l.* from lots l left join visits v on v.event_id = l.event_id"
        " where (l.event_id <> '' and v.event_id is null) or (l.location_id <> '' and"
        "  (l.location_id not in (select location_id from sites)"
        "   or l.location_id <> coalesce(v.location_id, l.location_id)))"
        " or (l.first_day <> '' and (l.last_day < v.first_day or l.first_day > v.last_day))"
        " or (l.date_identified <> '' and l.date_identified < v.first_day)"
        " order by l.catalog_number",
    )
    visits = survey.records(
        Visit,
        "select * from visits where location_id not in (select location_id from sites)"
        " order by event_id",
    )
    theirs = {lot.event_id for lot in lots} - {visit.event_id for visit in visits}
    return [*visits, *_visits(survey, theirs)], lots


def _visits(survey: Survey, identifiers: Collection[str]) -> list[Visit]:
    query = "select * from visits where event_id in (...)"
    return survey.records_in(Visit, query, sorted(identifiers))


def lots_of(
    survey: Survey, column: Literal["scientific_name", "event_id"], words: Collection[str]
) -> list[ExuviaeLot]:
    """Lots under these names as they were written, or of these visits, by catalogNumber."""
    lots = survey.records_in(ExuviaeLot, f"select * from lots where {column} in (...)", words)
    return sorted(lots, key=lambda lot: lot.catalog_number)


def _every(survey: Survey, table: str, kind: type[Record], order: str) -> list[Record]:
    return survey.records(kind, f"select * from {table} order by {order}")


def scores(survey: Survey) -> dict[str, dict[str, float]]:
    """Scores by index and taxon."""
    rows = survey.run("select index_name, scientific_name, score from taxon_scores")
    found = in_groups((row[0], (row[1], row[2])) for row in rows)
    return {index: dict(ones) for index, ones in found.items()}


def site_measurements(survey: Survey) -> list[SiteMeasurement]:
    """All measurements taken at sites."""
    return survey.records(
        SiteMeasurement,
        "select * from site_measurements order by location_id, variable, measured_on, method",
    )


_FOUND = """
    visits v left join sites s on s.location_id = v.location_id
    where :words = '' or s.locality like :like or v.recorded_by like :like
        or v.first_day like :like
        or v.event_id in (select event_id from lots where catalog_number like :like)"""


def visits_page(survey: Survey, words: str, *, offset: int, limit: int) -> list[Visit]:
    """Visits whose site, collector, day or lot number holds these words, the newest first."""
    query = f"select v.* from {_FOUND} order by v.first_day desc, v.event_id"
    wanted = {**_wanted(words), "limit": limit, "offset": offset}
    return survey.records(Visit, f"{query} limit :limit offset :offset", wanted)


def count_visits(survey: Survey, words: str) -> int:
    """How many visits hold these words."""
    return survey.count(_FOUND, _wanted(words))


def lots_without_visit(survey: Survey, words: str, *, limit: int) -> list[ExuviaeLot]:
    """Lots that name no visit of the list, the newest first, whose words these are."""
    query = """
        select l.* from lots l left join sites s on s.location_id = l.location_id
        where l.event_id not in (select event_id from visits) and (:words = ''
            or s.locality like :like or l.recorded_by like :like or l.first_day like :like
            or l.catalog_number like :like)
        order by l.first_day desc, l.catalog_number limit :limit"""
    return survey.records(ExuviaeLot, query, {**_wanted(words), "limit": limit})


def _wanted(words: str) -> dict[str, str]:
    plain = " ".join(words.split())
    return {"words": plain, "like": f"%{plain}%"}


def find_lot(survey: Survey, number: str) -> ExuviaeLot | None:
    """The lot of this number, whatever its capitals."""
    query = "select * from lots where catalog_number = ? collate nocase"
    return survey.record(ExuviaeLot, query, number)


def find_visit(survey: Survey, identifier: str) -> Visit | None:
    """The visit of this identifier."""
    return survey.record(Visit, "select * from visits where event_id = ?", identifier)


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One change of a row: who, when, whether it still holds, the row before and after."""

    at: str
    by: str
    holds: bool
    before: dict[str, Any]
    after: dict[str, Any]


def history_of(survey: Survey, lot: str) -> list[Step]:
    """Everything that was ever recorded of a lot, the oldest first."""
    key = json.dumps({"catalog_number": lot}, ensure_ascii=False, sort_keys=True)
    rows = survey.run(
        "select h.row_before, h.row_after, a.at, a.by_name as by, a.live as holds"
        " from row_history h join actions a on a.id = h.action_id"
        " where h.table_name = 'lots' and h.row_key = ? order by h.id",
        key,
    )
    return [
        record_of(
            Step,
            row,
            before=json.loads(row["row_before"] or "{}"),
            after=json.loads(row["row_after"] or "{}"),
        )
        for row in rows
    ]
