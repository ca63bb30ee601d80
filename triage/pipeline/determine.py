"""Record what a determiner says of a sighting, and load where the sighting stands after it."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from triage.checklist import Checklist, read_name, read_qualifier
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
    found = read_statement(load_checklist(survey), statement)
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
                scientific_name=found.taxon,
                taxon_rank=found.taxon_rank,
                qualifier=found.qualifier,
                verbatim_identification=found.verbatim,
                sex=found.sex,
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


def read_statement(checklist: Checklist, statement: Statement) -> Statement:
    """The statement under the accepted name, with the doubt and sex that stood beside the name.

    Raises
    ------
    UnknownError
        If the checklist does not hold the name; the nearest names are given.
    TriageError
        If the statement says nothing, or two things at once.
    """
    said = [statement.taxon, statement.cannot_tell, statement.not_an_adult]
    if sum(bool(one) for one in said) != 1:
        raise TriageError(
            "a determination is one name, or 'cannot tell', or 'not an adult'",
            failing=" / ".join(one for one in said if one) or "nothing was said",
            next_step="Give a TAXON, or --cannot-tell REASON, or --not-an-adult WHAT.",
        )
    if not statement.taxon:
        return statement
    found = read_name(statement.taxon, checklist)
    if found.taxon is None:
        raise UnknownError(found.problem, failing=statement.taxon, next_step=found.next_step)
    if statement.sex and found.sex and statement.sex != found.sex:
        raise TriageError(
            f"the name says {found.sex} and the sex given is {statement.sex}",
            failing=statement.taxon,
            next_step="Correct one of the two.",
        )
    doubts = (read_qualifier(statement.qualifier), found.qualifier)
    return replace(
        statement,
        taxon=found.scientific_name,
        taxon_rank=found.rank,
        qualifier=" ".join(dict.fromkeys(filter(None, doubts))),
        sex=statement.sex or found.sex,
        verbatim=found.verbatim,
    )
