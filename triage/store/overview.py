"""Count what a survey holds, by state: what the first page of the survey tells."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

from triage.store.connection import Survey
from triage.store.rows import count_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Holdings:
    """How much there is of everything; messages by state, parts of mails by what became of them.

    ``photos`` are those taken in; a logo or a tracking pixel is kept, and is none of them.
    """

    messages: dict[str, int]
    parts: dict[str, int]
    photos: int
    not_examined: int
    unreadable: int
    sightings: int
    determinations: int
    determiners: int
    sites: int
    visits: int
    lots: int
    taxa: int
    people: int


def holdings(survey: Survey) -> Holdings:
    """Everything counted once, by queries that read an index and no row."""
    one = partial(count_of, survey)

    def by(query: str) -> dict[str, int]:
        return {row[0]: row[1] for row in survey.connection.execute(query)}

    gone = "(select id from actions where live = 0)"
    return Holdings(
        messages=by("select state, count(*) from messages group by state"),
        parts=by("select outcome, count(*) from parts group by outcome order by outcome"),
        photos=one("(select distinct sha256 from parts where outcome = 'taken in')"),
        not_examined=one(
            "photos p where examined_with = ''"
            " and exists (select 1 from appearances a where a.photo = p.sha256)"
        ),
        unreadable=one("photos where problem <> ''"),
        sightings=one("known_sightings where superseded_by is null"),
        determinations=one("determinations") - one(f"determinations where action_id in {gone}"),
        determiners=one(
            "people p where exists (select 1 from determinations d"
            f" where d.person_id = p.id and d.action_id not in {gone})"
        ),
        sites=one("sites"),
        visits=one("visits"),
        lots=one("lots"),
        taxa=one("taxa"),
        people=one("people where forgotten_at is null"),
    )
