"""List the messages that are open or waiting: counted by need and sender, read piece by piece."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from triage.inbox.listing import Heap, Listed
from triage.store.connection import Survey

_NEED = "substr(m.state_reason, 1, instr(m.state_reason || ', ', ', ') - 1)"
_UNSETTLED = "m.state in ('', 'open', 'waiting')"
_NAMES = (
    "coalesce(p.name, '') as sender_name,"
    " case when coalesce(p.name, '') = '' then (select min(address) from addresses a"
    " where a.person_id = m.sender_id) end as sender_address"
)


def heaps(survey: Survey) -> list[Heap]:
    """All unsettled messages, counted from an index."""
    return survey.records(
        Heap,
        f"select m.*, {_NAMES} from (select state, {_NEED} as need,"
        f" sender_id, count(*) as count from messages m where {_UNSETTLED} group by 1, 2, 3) m"
        " left join people p on p.id = m.sender_id",
    )


def listed(survey: Survey, of: Sequence[Heap], *, offset: int, limit: int) -> list[Listed]:
    """So many messages of these heaps together, the earliest sent first."""
    where, values = _in(of)
    return survey.records(
        Listed,
        f"select m.identifier, m.subject, {_NAMES}, m.sent_at, m.state, m.state_reason"
        f" from messages m left join people p on p.id = m.sender_id where {where}"
        " order by coalesce(m.sent_at, ''), m.identifier limit ? offset ?",
        *values,
        limit,
        offset,
    )


def heap_of(survey: Survey, identifier: str) -> tuple[str, str, int | None] | None:
    """State, first need and sender of the heap that an unsettled message lies in."""
    row = survey.row(
        f"select state, {_NEED}, sender_id from messages m where identifier = ? and {_UNSETTLED}",
        identifier,
    )
    return (row[0], row[1], row[2]) if row else None


def count_before(survey: Survey, of: Sequence[Heap], identifier: str) -> int:
    """How many messages of these heaps come before this one of them."""
    where, values = _in(of)
    row = survey.row(
        "select count(*) from messages m, messages here where here.identifier = ?"
        f" and ({where}) and (coalesce(m.sent_at, ''), m.identifier)"
        " < (coalesce(here.sent_at, ''), here.identifier)",
        identifier,
        *values,
    )
    return int(row[0])


def still_open(survey: Survey, identifiers: Iterable[str]) -> set[str]:
    """Those of these messages that need somebody."""
    query = "select identifier from messages where state in ('', 'open') and identifier in (...)"
    return survey.column_in(query, identifiers)


def _in(of: Sequence[Heap]) -> tuple[str, list[str | int | None]]:
    where = " or ".join([f"(m.state = ? and {_NEED} = ? and m.sender_id is ?)"] * len(of))
    return where, [value for heap in of for value in (heap.state, heap.need, heap.sender)]
