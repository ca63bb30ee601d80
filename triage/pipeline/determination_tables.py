"""Record a table of determinations, one a row, as one action; refuse rows with the reason."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from triage.checklist import Checklist
from triage.determinations import Statement, read_statement
from triage.errors import TriageError
from triage.pipeline.determine import append, said_before
from triage.pipeline.standing import load_checklist
from triage.pipeline.tables import ImportOutcome
from triage.sightings import SightingRow
from triage.standards.tables import RefusedRow, TableRow, read_table
from triage.store import actions, sightings
from triage.store.connection import Survey


def determine_from_table(survey: Survey, path: Path, *, by: str, now: datetime) -> ImportOutcome:
    """Record one determination a row; a row that repeats what its determiner said is no change.

    Columns: occurrenceID or sighting, scientificName, identificationQualifier, sex, lifeStage,
    behavior, identificationRemarks, identifiedBy (else ``by``), cannotTell, notAnAdult,
    secondOpinion.
    """
    table = read_table(path)
    checklist = load_checklist(survey)
    refused: list[RefusedRow] = []
    new = accepted = action = 0
    with survey.transaction():
        for row in table.rows:
            try:
                who, sighting, statement = _read(survey, row, by, checklist)
            except TriageError as error:
                refused.append(RefusedRow(line=row.line, column=error.failing, reason=str(error)))
                continue
            accepted += 1
            if said_before(survey, sighting, statement, who):
                continue
            if not action:
                summary = f"determinations of {path.name}"
                action = actions.record(
                    survey, command="determine", summary=summary, by=by or who, now=now
                )
            append(survey, sighting, statement, by=who, action=action, now=now)
            new += 1
    return ImportOutcome(
        file=str(path), accepted=accepted, new=new, changed=0, refused=tuple(refused)
    )


def _read(
    survey: Survey, row: TableRow, by: str, checklist: Checklist
) -> tuple[str, SightingRow, Statement]:
    """Who says what of which sighting."""
    get = row.cells.get
    statement = Statement(
        taxon=get("scientificName", ""),
        cannot_tell=get("cannotTell", ""),
        not_an_adult=get("notAnAdult", ""),
        qualifier=get("identificationQualifier", ""),
        sex=get("sex", ""),
        life_stage=get("lifeStage", ""),
        behavior=get("behavior", ""),
        remarks=get("identificationRemarks", ""),
        second_opinion=get("secondOpinion", "").casefold() in ("yes", "true", "1"),
    )
    who = get("identifiedBy", "") or by
    if not who:
        raise TriageError(
            "no determiner", failing="identifiedBy", next_step="Fill it or give --by."
        )
    sighting = sightings.find(survey, get("sighting", "") or get("occurrenceID", ""))
    return who, sighting, read_statement(checklist, statement)
