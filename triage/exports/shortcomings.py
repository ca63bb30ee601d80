"""List the published quality tests that occurrence rows fail, and what to do about each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from triage.exports.occurrences import Row
from triage.exports.tables import words
from triage.standards import quality_tests


@dataclass(frozen=True, slots=True, kw_only=True)
class Shortcoming:
    """Published tests that the same records fail, by sighting or lot number, and what mends it."""

    tests: tuple[str, ...]
    records: tuple[str, ...]
    next_step: str


def shortcomings(rows: Sequence[Row], *, now: datetime) -> tuple[Shortcoming, ...]:
    """The tests that rows fail, in their published order; dates to the end of this year pass.

    A record goes by its sighting's identifier or its lot number; by its occurrenceID where that
    number is withheld.
    """
    latest = now.date().replace(month=12, day=31)
    failing: dict[str, list[str]] = {}
    for row in rows:
        name = row.get("otherCatalogNumbers") or row.get("catalogNumber") or row["occurrenceID"]
        for test in quality_tests.shortcomings(row, latest=latest):
            failing.setdefault(test, []).append(name)
    alike: dict[tuple[str, tuple[str, ...]], list[str]] = {}
    for test in filter(failing.__contains__, quality_tests.TESTS):
        alike.setdefault((next_step(test), tuple(failing[test])), []).append(test)
    return tuple(
        Shortcoming(tests=tuple(tests), records=records, next_step=step)
        for (step, records), tests in alike.items()
    )


def next_step(test: str) -> str:
    """What mends a record that fails the validation of this label.

    >>> next_step("VALIDATION_SEX_STANDARD")
    'the sex of the lot'
    """
    about = test.split("_")[1]
    return next(str(step) for step, tests in words()["next_step"].items() if about in tests)
