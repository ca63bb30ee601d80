"""Record what a determiner says of a sighting, and load where the sighting stands after it."""

from __future__ import annotations

from datetime import datetime

from triage.checklist import Checklist
from triage.determinations import Accepted, Determination, Statement
from triage.errors import TriageError, UnknownError
from triage.pipeline.standing import load_checklist, standing
from triage.store import actions, determinations, people, sightings
from triage.store.connection import Survey


def determine(
    survey: Survey, sighting: str, statement: Statement, *, by: str, now: datetime
) -> Accepted:
    """Append one determination and return where the sighting stands.

    Raises
    ------
    UnknownError
        If the sighting or the name is unknown.
    TriageError
        If the statement says nothing, or two things at once.
    """
    row = sightings.find(survey, sighting)
    checklist = load_checklist(survey)
    name, rank_of_name, qualifier = _resolve(checklist, statement)
    with survey.transaction():
        person = people.by_name(survey, by)
        action = actions.record(
            survey,
            command="determine",
            summary=f"sighting {row.identifier}: {statement.words}",
            by=by,
            now=now,
        )
        sightings.freeze(survey, row.identifier, now=now)
        code = people.codes(survey, [person])[person]
        determinations.add(
            survey,
            Determination(
                # In the order of the log, so that of two in one second the later one counts.
                identifier=f"{row.identifier}-{action:08d}",
                sighting=row.identifier,
                outcome=statement.outcome,
                scientific_name=name,
                taxon_rank=rank_of_name,
                qualifier=qualifier,
                sex=statement.sex,
                life_stage=statement.life_stage,
                behavior=statement.behavior,
                reason=statement.reason,
                remarks=statement.remarks,
                identified_by=code,
                date_identified=actions.utc_text(now),
                second_opinion=statement.second_opinion,
                photos=tuple(photo for photo, _ in row.members),
            ),
            person=person,
            action=action,
        )
    return standing(survey, [row.identifier]).accepted[row.identifier]


def _resolve(checklist: Checklist, statement: Statement) -> tuple[str, str, str]:
    said = [statement.taxon, statement.cannot_tell, statement.not_an_adult]
    if sum(bool(one) for one in said) != 1:
        raise TriageError(
            "a determination is one name, or 'cannot tell', or 'not an adult'",
            failing=" / ".join(one for one in said if one) or "nothing was said",
            next_step="Give a TAXON, or --cannot-tell REASON, or --not-an-adult WHAT.",
        )
    if not statement.taxon:
        return "", "", ""
    taxon = checklist.resolve(statement.taxon)
    if taxon is None:
        near = ", ".join(one.scientific_name for one in checklist.suggest(statement.taxon)[:3])
        raise UnknownError(
            "the name is not on the checklist",
            failing=statement.taxon,
            next_step=f"Near: {near}." if near else "Import it with 'triage checklist FILE.csv'.",
        )
    return taxon.scientific_name, taxon.rank, statement.qualifier
