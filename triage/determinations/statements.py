"""Read what a determiner says of a sighting: one name of the checklist with its doubt, or none."""

from __future__ import annotations

from dataclasses import replace

from rapidfuzz import fuzz, process

from triage.checklist import Checklist, read_qualified
from triage.determinations.records import Statement
from triage.errors import TriageError, UnknownError
from triage.standards.tables import answer_of

LIFE_STAGES = ("adult", "teneral", "immature", "mature", "larva", "exuvia", "egg")
_STAGE_WORDS = {"imago": "adult", "juvenile": "immature", "subadult": "immature", "nymph": "larva"}


def read_life_stage(written: str) -> str:
    """A stage of life in our word for it; empty for nothing.

    Raises
    ------
    UnknownError
        If it is none of them.
    """
    plain = " ".join(written.split()).casefold()
    stage = _STAGE_WORDS.get(plain, plain)
    if not stage or stage in LIFE_STAGES:
        return stage
    near = process.extractOne(plain, LIFE_STAGES, scorer=fuzz.ratio, score_cutoff=60)
    hint = f"Did you mean {near[0]}? " if near else ""
    raise UnknownError(
        "this is not a stage of life",
        failing=written,
        next_step=f"{hint}One of: {', '.join(LIFE_STAGES)}.",
    )


def read_statement(checklist: Checklist, statement: Statement) -> Statement:
    """The statement under the accepted name, with the doubt, sex and age that stood beside it.

    Raises
    ------
    UnknownError
        If the checklist does not hold the name; the nearest names are given.
    TriageError
        If the statement says nothing, or two things at once.
    """
    statement = _without_blanks(statement)
    statement = replace(statement, life_stage=read_life_stage(statement.life_stage))
    said = [statement.taxon, statement.cannot_tell, statement.not_an_adult]
    if sum(bool(one) for one in said) != 1:
        raise TriageError(
            "a determination is one name, or 'cannot tell', or 'not an adult'",
            failing=" / ".join(one for one in said if one) or "nothing was said",
            next_step="Give a TAXON, or --cannot-tell REASON, or --not-an-adult WHAT.",
        )
    if not statement.taxon:
        _refuse_no_reason(checklist, statement.reason)
        return statement
    found = read_qualified(statement.taxon, statement.qualifier, checklist)
    if found.taxon is None:
        raise UnknownError(found.problem, failing=statement.taxon, next_step=found.next_step)
    if statement.sex and found.sex and statement.sex != found.sex:
        raise TriageError(
            f"the name says {found.sex} and the sex given is {statement.sex}",
            failing=statement.taxon,
            next_step="Correct one of the two.",
        )
    return replace(
        statement,
        taxon=found.scientific_name,
        taxon_rank=found.rank,
        qualifier=found.qualifier,
        sex=statement.sex or found.sex,
        life_stage=statement.life_stage or found.life_stage,
        behavior=statement.behavior or found.behavior,
        verbatim=found.verbatim,
    )


def _refuse_no_reason(checklist: Checklist, words: str) -> None:
    """Refuse a yes or a no, and a name of the checklist, where a reason is to stand."""
    if answer_of(words) is not None:
        raise TriageError(
            "this is no reason",
            failing=words,
            next_step="Write what these photos lack, or what is seen on them.",
        )
    if checklist.resolve(words) is not None:
        raise TriageError(
            "a name of the checklist stands where the reason is to stand that there is none",
            failing=words,
            next_step="Give it as the name, or write what these photos lack or show besides.",
        )


def _without_blanks(statement: Statement) -> Statement:
    """The statement without blanks around its words: those alone say nothing."""
    return replace(
        statement,
        taxon=statement.taxon.strip(),
        cannot_tell=statement.cannot_tell.strip(),
        not_an_adult=statement.not_an_adult.strip(),
        qualifier=statement.qualifier.strip(),
        behavior=statement.behavior.strip(),
        remarks=statement.remarks.strip(),
    )
