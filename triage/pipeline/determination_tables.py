"""Record a table of determinations, one a row, as one action; refuse rows with the reason."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from triage.checklist import Checklist
from triage.determinations import SaidRow, Statement, read_determinations, read_statement
from triage.determinations.determiners import KnownPerson
from triage.errors import TriageError
from triage.pipeline.determine import append, said_before
from triage.pipeline.determiners import determiner
from triage.pipeline.queue_views import HEADINGS, RETIRED_HEADINGS
from triage.pipeline.standing import load_checklist
from triage.pipeline.tables import ImportOutcome
from triage.sightings import SightingRow
from triage.standards.tables import RefusedRow
from triage.store import actions, sightings
from triage.store.connection import Survey


def determine_from_table(
    survey: Survey, path: Path, *, by: str, now: datetime, new: bool = False
) -> ImportOutcome:
    """Record one determination a row; a row that repeats what its determiner said is no change.

    ``by`` is the determiner of rows without identifiedBy. The queue's own table may be filled in:
    its columns are passed over.

    Raises
    ------
    TableError
        The file as a whole cannot be read, or has a column that is not known.
    """
    said, refused = read_determinations(path, passed_over=(*HEADINGS, *RETIRED_HEADINGS))
    checklist = load_checklist(survey)
    added = accepted = action = 0
    with survey.transaction():
        for row in said:
            try:
                who, sighting, statement = _read(survey, row, by, checklist, new=new)
            except TriageError as error:
                refused.append(RefusedRow(line=row.line, column=error.failing, reason=str(error)))
                continue
            accepted += 1
            if said_before(survey, sighting, statement, who):
                continue
            if not action:
                summary = f"determinations of {path.name}"
                action = actions.record(
                    survey, command="determine", summary=summary, by=by or who.name, now=now
                )
            append(survey, sighting, statement, person=who, action=action, now=now)
            added += 1
    return ImportOutcome(
        file=str(path),
        accepted=accepted,
        new=added,
        changed=0,
        refused=tuple(sorted(refused, key=lambda row: row.line)),
    )


def _read(
    survey: Survey, row: SaidRow, by: str, checklist: Checklist, *, new: bool
) -> tuple[KnownPerson, SightingRow, Statement]:
    """Who says what of which sighting."""
    who = row.identified_by or by
    if not who:
        raise TriageError(
            "no determiner", failing="identifiedBy", next_step="Fill it or give --by."
        )
    sighting = sightings.find(survey, row.sighting)
    statement = read_statement(checklist, row.statement)
    return determiner(survey, who, new=new), sighting, statement
