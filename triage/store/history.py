"""Keep what typed tables changed, row by row, so that each import can be seen and taken back.

What stands in a row follows from the log alone: the newest change whose action still holds, or,
where none does, what stood before the oldest one.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from triage.store import actions
from triage.store.connection import Survey
from triage.store.rows import holds

Values = Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One row of a table before and after: nothing before if it is new, nothing after if gone."""

    table: str
    key: Values
    before: Values | None
    after: Values | None


def save_rows(
    survey: Survey, table: str, keys: Sequence[str], rows: Iterable[Values]
) -> list[Change]:
    """Insert rows, update those whose key exists and whose values differ; returns what changed."""
    changes = []
    for row in rows:
        key = {name: row[name] for name in keys}
        before = _row(survey, table, key)
        after = dict(before or {}) | dict(row)
        if before != after:
            changes.append(Change(table=table, key=key, before=before, after=after))
            _write(survey, table, key, after)
    return changes


def remove_row(survey: Survey, table: str, key: Values) -> list[Change]:
    """Take a row out of its table; nothing is returned if there is none."""
    before = _row(survey, table, key)
    if before is None:
        return []
    _write(survey, table, key, None)
    return [Change(table=table, key=key, before=before, after=None)]


def act(
    survey: Survey, changes: Sequence[Change], command: str, summary: str, *, by: str, now: datetime
) -> None:
    """Append an action with the changes that it made; without changes, nothing."""
    if not changes:
        return
    action = actions.record(survey, command, summary, by=by, now=now)
    for change in changes:
        survey.insert(
            "row_history",
            {
                "action_id": action,
                "table_name": change.table,
                "row_key": _json(change.key),
                "row_before": _json(change.before),
                "row_after": _json(change.after),
            },
        )


def restore(survey: Survey, action: int) -> int:
    """Let every row that an action changed be what the log says now; returns how many differ.

    To be called when an action was taken back, and when that was taken back.
    """
    touched = survey.run(
        "select distinct table_name, row_key from row_history"
        " where action_id = ? and row_key <> '{}'",  # nothing is left of what was forgotten
        action,
    ).fetchall()
    changed = 0
    for table, row_key in touched:
        key, stands = json.loads(row_key), _stands(survey, table, row_key)
        if _row(survey, table, key) != stands:
            _write(survey, table, key, stands)
            changed += 1
    return changed


def _stands(survey: Survey, table: str, key: str) -> dict[str, Any] | None:
    of_row = "from row_history where table_name = ? and row_key = ?"
    found = survey.first(f"select row_after {of_row} and {holds()} order by id desc", table, key)
    if found is None:
        found = survey.first(f"select row_before {of_row} order by id", table, key)
    return json.loads(found) if found else None


def _row(survey: Survey, table: str, key: Values) -> dict[str, Any] | None:
    where = " and ".join(f"{name} = ?" for name in key)
    row = survey.row(f"select * from {table} where {where}", *key.values())
    return dict(row) if row is not None else None


def _write(survey: Survey, table: str, key: Values, values: Values | None) -> None:
    where = " and ".join(f"{name} = ?" for name in key)
    survey.run(f"delete from {table} where {where}", *key.values())
    if values is not None:
        columns = survey.column("select name from pragma_table_info(?)", table)
        survey.insert(table, {name: v for name, v in values.items() if name in columns})


def _json(values: Values | None) -> str:
    return "" if values is None else json.dumps(values, ensure_ascii=False, sort_keys=True)
