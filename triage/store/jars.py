"""Find visits with their lots for a page, and what was ever recorded of one lot."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

from triage.exuviae import ExuviaeLot, Visit
from triage.store.connection import Survey

_FOUND = """
    visits v left join sites s on s.location_id = v.location_id
    where :words = '' or s.locality like :like or v.recorded_by like :like
        or v.first_day like :like
        or v.event_id in (select event_id from lots where catalog_number like :like)"""


def page(survey: Survey, words: str, *, offset: int, limit: int) -> list[Visit]:
    """Visits whose site, collector, day or lot number holds these words, the newest first."""
    query = f"select v.* from {_FOUND} order by v.first_day desc, v.event_id"
    wanted = {**_wanted(words), "limit": limit, "offset": offset}
    return survey.records(Visit, f"{query} limit :limit offset :offset", wanted)


def count(survey: Survey, words: str) -> int:
    """How many visits hold these words."""
    return survey.count(_FOUND, _wanted(words))


def without_visit(survey: Survey, words: str, *, limit: int) -> list[ExuviaeLot]:
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
        "select h.row_before, h.row_after, a.at, a.by_name, a.live from row_history h"
        " join actions a on a.id = h.action_id where h.table_name = 'lots' and h.row_key = ?"
        " order by h.id",
        key,
    )
    return [
        Step(
            at=row["at"],
            by=row["by_name"],
            holds=bool(row["live"]),
            before=json.loads(row["row_before"] or "{}"),
            after=json.loads(row["row_after"] or "{}"),
        )
        for row in rows
    ]
