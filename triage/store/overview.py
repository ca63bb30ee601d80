"""Count what a survey holds, by state: what the first page of the survey tells.

Messages, parts and photos are counted by triggers as their rows come and go (table ``holdings``),
so that no page walks through them; `miscounted` compares those counts with the rows.
"""

from __future__ import annotations

from dataclasses import dataclass

from triage.store.connection import Survey


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


_COUNTED = (
    "select 'messages', state, count(*) from messages group by state"
    " union all select 'parts', outcome, count(*) from parts group by outcome"
    " union all select 'photos', 'taken in', count(distinct sha256) from parts"
    " where outcome = 'taken in'"
)


def holdings(survey: Survey) -> Holdings:
    """Everything, by what is counted already and by queries that read an index and no row."""
    counts, one = _kept(survey), survey.count

    def by(wanted: str) -> dict[str, int]:
        return {kind: count for (what, kind), count in counts.items() if what == wanted}

    gone = "(select id from actions where live = 0)"
    determiners = (  # by index from one person to the next
        "with recursive each (person) as (select min(person_id) from determinations union all"
        " select (select min(person_id) from determinations where person_id > person)"
        " from each where person is not null)"
        " select count(*) from each where exists (select 1 from determinations d"
        f" where d.person_id = person and d.action_id not in {gone})"
    )
    return Holdings(
        messages=by("messages"),
        parts=by("parts"),
        photos=counts.get(("photos", "taken in"), 0),
        not_examined=one(
            "photos p where examined_with = ''"
            " and exists (select 1 from appearances a where a.photo = p.sha256)"
        ),
        unreadable=one("photos where problem <> ''"),
        sightings=one("sightings")  # the few that do not stand are found by index
        - one(f"sightings where action_id in {gone}")
        - one(
            "known_sightings where superseded_by is not null"
            " and identifier in (select old from sighting_succession)"
        ),
        determinations=one("determinations") - one(f"determinations where action_id in {gone}"),
        determiners=survey.first(determiners),
        sites=one("sites"),
        visits=one("visits"),
        lots=one("lots"),
        taxa=one("taxa"),
    )


def miscounted(survey: Survey) -> list[str]:
    """Kept counts that are not those of the rows, a line each."""
    there, kept = _by_kind(survey, _COUNTED), _kept(survey)
    return [
        f"database: {there.get(one, 0)} {one[0]} are {one[1] or 'without a state'}, and"
        f" {kept.get(one, 0)} are counted; 'triage repair' counts them again"
        for one in sorted(kept.keys() | {name for name, count in there.items() if count})
        if kept.get(one, 0) != there.get(one, 0)
    ]


def count_again(survey: Survey) -> None:
    """Count messages, parts and photos from their rows."""
    survey.run("delete from holdings")
    survey.run(f"insert into holdings {_COUNTED}")


def _kept(survey: Survey) -> dict[tuple[str, str], int]:
    return _by_kind(survey, "select what, kind, count from holdings where count <> 0")


def _by_kind(survey: Survey, query: str) -> dict[tuple[str, str], int]:
    return {(what, kind): count for what, kind, count in survey.run(query)}
