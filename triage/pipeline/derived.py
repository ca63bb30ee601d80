"""Bring a table derived of sightings up to date: what changed since the last time, in portions."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable

from triage.store import derived_rules, sightings
from triage.store.connection import Survey
from triage.workers.progress import Progress, silent

AT_ONCE = 1000  # sightings looked at from one load, and written together


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
    if rules is not None and derived_rules.noted(survey, table) != rules:
        with survey.transaction():
            derived_rules.make_all_due(survey, table, rules)
    due = derived_rules.due(survey, table, only)
    for start in range(0, len(due), AT_ONCE):
        portion = due[start : start + AT_ONCE]
        with survey.transaction():
            wanted = sightings.with_kin(survey, portion)
            derived_rules.replace(survey, table, wanted, make(wanted))
        progress(what, start + len(portion), len(due))
