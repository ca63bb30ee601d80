"""Record what determiners say of sightings, and load where a sighting stands after it."""

from __future__ import annotations

from datetime import datetime

from triage.determinations import Accepted, Determination, Statement, read_statement, said_by
from triage.determinations.determiners import KnownPerson
from triage.pipeline.determiners import determiner
from triage.pipeline.standing import load_checklist, standing
from triage.sightings import SightingRow
from triage.store import actions, determinations, sightings
from triage.store.connection import Survey


def determine(
    survey: Survey,
    sighting: str,
    statement: Statement,
    *,
    by: str,
    now: datetime,
    new: bool = False,
) -> Accepted:
    """Append one determination and return where the sighting stands.

    ``by`` is a person of the survey; with ``new`` somebody not known yet is added. What the
    determiner said last of these photos, word for word, is not recorded again.

    Raises
    ------
    UnknownError
        If the sighting, the name or the determiner is unknown.
    TriageError
        If the statement says nothing, or two things at once.
    """
    row = sightings.find(survey, sighting)
    found = read_statement(load_checklist(survey), statement)
    with survey.transaction():
        person = determiner(survey, by, new=new)
        if not said_before(survey, row, found, person):
            summary = f"sighting {row.identifier}: {statement.words}"
            who = person.name or person.code
            action = actions.record(survey, "determine", summary, by=who, now=now)
            append(survey, row, found, person=person, action=action, now=now)
    return standing(survey, [row.identifier]).accepted[row.identifier]


def said_before(
    survey: Survey, row: SightingRow, statement: Statement, person: KnownPerson
) -> bool:
    """Whether this is what the determiner said last of these photos, word for word."""
    made = determinations.of_sighting(survey, row.identifier)
    mine = [one for one in made if one.identified_by == person.code]
    return bool(mine) and said_by(mine[-1]) == statement and set(mine[-1].photos) == _photos(row)


def append(
    survey: Survey,
    row: SightingRow,
    statement: Statement,
    *,
    person: KnownPerson,
    action: int,
    now: datetime,
) -> None:
    """Append a statement that was read, under an action."""
    sightings.freeze(survey, row.identifier, now=now)
    already = determinations.count_of_action(survey, action)
    determinations.add(
        survey,
        Determination(
            # In the order of the log, so that of two in one second the later one counts.
            identifier=f"{row.identifier}-{action:08d}" + (f"-{already:04d}" if already else ""),
            sighting=row.identifier,
            outcome=statement.outcome,
            scientific_name=statement.taxon,
            taxon_rank=statement.taxon_rank,
            qualifier=statement.qualifier,
            verbatim_identification=statement.verbatim,
            sex=statement.sex,
            life_stage=statement.life_stage,
            behavior=statement.behavior,
            reason=statement.reason,
            remarks=statement.remarks,
            identified_by=person.code,
            date_identified=actions.utc_text(now),
            second_opinion=statement.second_opinion,
            photos=tuple(photo for photo, _ in row.members),
        ),
        person=person.row,
        action=action,
    )


def _photos(row: SightingRow) -> set[str]:
    return {photo for photo, _ in row.members}
