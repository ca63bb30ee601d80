"""A table with one determination a row in, recorded determinations and refused rows out."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from triage.determinations import Statement, said_by
from triage.errors import TriageError
from triage.pipeline.determine import determine
from triage.pipeline.tables import ImportOutcome
from triage.standards.tables import RefusedRow, read_table
from triage.store import determinations, people, sightings
from triage.store.connection import Survey


def determine_from_table(survey: Survey, path: Path, *, by: str, now: datetime) -> ImportOutcome:
    """Record one determination a row; a row that repeats what its determiner said is no change.

    Columns: occurrenceID or sighting, scientificName, identificationQualifier, sex, lifeStage,
    behavior, identificationRemarks, identifiedBy (else ``by``), cannotTell, notAnAdult,
    secondOpinion.
    """
    table = read_table(path)
    refused: list[RefusedRow] = []
    new = accepted = 0
    for row in table.rows:
        get = row.cells.get
        who = get("identifiedBy", "") or by
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
        try:
            if not who:
                raise TriageError(
                    "no determiner", failing="identifiedBy", next_step="Fill it or give --by."
                )
            sighting = get("sighting", "") or get("occurrenceID", "")
            if not _said_before(survey, sighting, statement, who):
                determine(survey, sighting, statement, by=who, now=now)
                new += 1
            accepted += 1
        except TriageError as error:
            refused.append(RefusedRow(line=row.line, column=error.failing, reason=str(error)))
    return ImportOutcome(
        file=str(path), accepted=accepted, new=new, changed=0, refused=tuple(refused)
    )


def _said_before(survey: Survey, sighting: str, statement: Statement, who: str) -> bool:
    """Whether this is what the determiner said last of the sighting, word for word."""
    identifier = sightings.find(survey, sighting).identifier
    code = next(
        (p.code for p in people.all_people(survey) if p.name.casefold() == who.casefold()), ""
    )
    made = determinations.of_sightings(survey, [identifier]).get(identifier, [])
    mine = [one for one in made if one.identified_by == code]
    return bool(mine) and said_by(mine[-1]) == statement
