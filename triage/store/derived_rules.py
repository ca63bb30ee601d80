"""Keep tables derived of sightings: by which rules their rows were made, and which are due anew.

Triggers note beside each table the sightings that a change may touch. After damage everything that
is computed from the rest of a survey can be made due.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable

from triage.store import audit, overview, tallies
from triage.store import sightings as kept
from triage.store.connection import Survey
from triage.store.rows import values_of
from triage.workers.progress import Progress, silent

AT_ONCE = 1000  # sightings looked at from one load, and written together
DUE = {"queue_order": "queue_due", "matches": "matches_due", "site_adults": "site_adults_due"}
"""By derived table, where its due sightings are noted."""


def noted(survey: Survey, table: str) -> str:
    """What all rows of a derived table stand by, or nothing."""
    return survey.first("select rules from derived_rules where name = ?", table) or ""


def note(survey: Survey, table: str, rules: str) -> None:
    """Note what all rows of a derived table stand by from now on."""
    survey.insert("derived_rules", {"name": table, "rules": rules}, replace=True)


def due(survey: Survey, table: str, sightings: Collection[str] | None = None) -> list[str]:
    """Those of these sightings, or of all, that something changed about."""
    query = f"select sighting from {DUE[table]}"
    if sightings is None:
        return survey.column(f"{query} order by sighting")
    return sorted(survey.column_in(f"{query} where sighting in (...)", sightings))


def count_due(survey: Survey, table: str) -> int:
    """How many sightings something changed about."""
    return survey.count(DUE[table])


def make_due(survey: Survey, table: str, sightings: Iterable[str]) -> None:
    """Have these sightings looked at anew."""
    survey.run_each(f"insert or ignore into {DUE[table]} values (?)", [(one,) for one in sightings])


def make_all_due(survey: Survey, table: str, rules: str) -> None:
    """Have every sighting looked at anew, by these rules."""
    survey.run(f"delete from {table}")
    survey.run(f"insert or ignore into {DUE[table]} select identifier from sightings")
    note(survey, table, rules)


def replace(
    survey: Survey, table: str, sightings: Collection[str], found: Iterable[object]
) -> None:
    """Write the rows of these sightings in place of their earlier ones: they are no longer due."""
    for name in (table, DUE[table]):
        survey.run_in(f"delete from {name} where sighting in (...)", sightings)
    survey.insert_all(table, map(values_of, found))


def replace_all(survey: Survey, table: str, found: Iterable[object], rules: str) -> None:
    """Write the rows of all sightings by these rules: none is due."""
    for name in (table, DUE[table]):
        survey.run(f"delete from {name}")
    survey.insert_all(table, map(values_of, found))
    note(survey, table, rules)


def renew(
    survey: Survey,
    table: str,
    make: Callable[[list[str]], Iterable[object]],
    *,
    rules: str | None = None,
    only: Collection[str] | None = None,
    what: str = "",
    progress: Progress = silent,
) -> None:
    """Make the rows of sightings that are due anew; stopped anywhere, it resumes.

    Parameters
    ----------
    make : callable
        Gives the rows of some sightings: those due, and those that they came from or became.
    rules : str, optional
        By which all rows are to stand: where they stand by others, every sighting is due.
    only : collection of str, optional
        Leave other sightings due.
    what : str
        What ``progress`` is told.
    """
    if rules is not None and noted(survey, table) != rules:
        with survey.transaction():
            make_all_due(survey, table, rules)
    waiting = due(survey, table, only)
    for start in range(0, len(waiting), AT_ONCE):
        portion = waiting[start : start + AT_ONCE]
        with survey.transaction():
            wanted = kept.with_kin(survey, portion)
            replace(survey, table, wanted, make(wanted))
        progress(what, start + len(portion), len(waiting))


_SHOWN = "p.outcome in ('taken in', 'kept, not examined') and p.sha256 is not null"


def add_photos(survey: Survey) -> list[str]:
    """Give parts whose photo has lost its row a new one, not yet examined; returns digests."""
    with survey.transaction():
        lost = survey.run(
            "select distinct p.sha256, p.media_type as format, 0 as width, 0 as height, p.byte_size"
            f" from parts p where {_SHOWN}"
            " and not exists (select 1 from photos where sha256 = p.sha256) order by p.sha256"
        ).fetchall()
        survey.insert_all("photos", map(dict, lost))
    return [row["sha256"] for row in lost]


def measure_again(survey: Survey) -> list[str]:
    """Have photos examined again whose measurement is gone; returns their digests."""
    with survey.transaction():
        found = audit.without_measurement(survey)
        survey.run_in("update photos set examined_with = '' where sha256 in (...)", found)
    return found


def all_anew(survey: Survey) -> None:
    """Have every photo compared and grouped again, every text read, every message looked at."""
    with survey.transaction() as connection:
        survey.run("update photos set linked_with = '', grouped_with = ''")
        survey.run("update messages set texts_read_with = '', state_due = 1")
        tallies.count_read_anew(connection)
        overview.count_again(survey)
        for table in ("queue_order", "site_adults"):
            make_all_due(survey, table, "")


def with_pictures(survey: Survey) -> list[str]:
    """Digests of photos that were examined and could be read."""
    return survey.column(
        "select sha256 from photos where examined_with <> '' and problem = '' order by sha256"
    )
