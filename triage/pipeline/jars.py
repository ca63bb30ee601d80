"""Record a jar's label as typed, name a lot anew, and list jars: each entry one action."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from triage.checklist import Checklist, Taxon, WrittenName, read_name
from triage.errors import UnknownError
from triage.exuviae import ExuviaeLot, Label, LabelProblem, Site, Visit, read_label
from triage.exuviae.named_again import held_by, named_again
from triage.pipeline.tables import latest_day
from triage.standards.darwin_core import name_with_qualifier
from triage.standards.groups import in_groups
from triage.standards.letters import alphabetical
from triage.store import evidence, history, people
from triage.store.connection import Survey

PAGE = 40  # jars shown at once


@dataclass(frozen=True, slots=True, kw_only=True)
class Recorded:
    """The visit that was recorded, or the problems for which nothing was."""

    event_id: str = ""
    problems: tuple[LabelProblem, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Jar:
    """A visit with its lots, each with what its words mean now."""

    visit: Visit
    site: Site | None
    lots: tuple[tuple[ExuviaeLot, WrittenName], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LooseLot:
    """A lot without a visit on the list, with its site and what its words mean now."""

    lot: ExuviaeLot
    site: Site | None
    name: WrittenName


def record_label(survey: Survey, label: Label, *, by: str, now: datetime) -> Recorded:
    """Record one visit with what it found, as one action; nothing where anything is in doubt."""
    sites = evidence.sites(survey)
    read = read_label(label, sites, evidence.checklist(survey), today=latest_day(now))
    if read.visit is None:
        return Recorded(problems=read.problems)
    with survey.transaction():
        problems = _there_already(survey, read.visit, read.lots)
        if problems:
            return Recorded(problems=tuple(problems))
        changes = evidence.save(survey, [read.visit, *read.lots])
        name = next(s.locality for s in sites if s.location_id == read.visit.location_id)
        summary = f"{name}, {read.visit.first_day}: {held_by(read.lots)}"
        history.act(survey, changes, "jar", summary, by=by, now=now)
        if label.contact.strip():
            people.by_address(survey, label.contact, name=read.visit.recorded_by)
    return Recorded(event_id=read.visit.event_id)


def _there_already(survey: Survey, visit: Visit, lots: Sequence[ExuviaeLot]) -> list[LabelProblem]:
    if evidence.find_visit(survey, visit.event_id) is not None:
        reason = (
            "This label is recorded already: same site, days, collector and lot number. "
            "If it is another jar, give it its own lot number."
        )
        return [LabelProblem(field="number", reason=reason)]
    for lot in lots:
        if evidence.find_lot(survey, lot.catalog_number) is not None:
            reason = f"There is a lot {lot.catalog_number} already. Read the number again."
            return [LabelProblem(field="number", reason=reason)]
    return []


def name_again(
    survey: Survey,
    number: str,
    *,
    name: str,
    identified_by: str,
    remarks: str = "",
    as_written: bool = False,
    by: str,
    now: datetime,
) -> Recorded:
    """Name a lot anew; what it was called before stays in its history.

    Raises
    ------
    UnknownError
        If there is no such lot.
    """
    lot = lot_of_number(survey, number)
    checklist = evidence.checklist(survey)
    named = named_again(
        lot,
        checklist,
        name=name,
        identified_by=identified_by,
        day=now.date(),
        remarks=remarks,
        as_written=as_written,
    )
    if isinstance(named, LabelProblem):
        return Recorded(problems=(named,))
    with survey.transaction():
        changes = evidence.save(survey, [named])
        before = name_with_qualifier(lot.scientific_name, lot.identification_qualifier)
        summary = f"lot {lot.catalog_number}: {before} is {named.scientific_name}"
        history.act(survey, changes, "jar", summary, by=by, now=now)
    return Recorded(event_id=lot.event_id)


def lot_of_number(survey: Survey, number: str) -> ExuviaeLot:
    """The lot of this number.

    Raises
    ------
    UnknownError
        If there is none.
    """
    lot = evidence.find_lot(survey, number)
    if lot is None:
        raise UnknownError(
            "there is no such lot", failing=number, next_step="Look for it in the list of jars."
        )
    return lot


def page(survey: Survey, words: str = "", *, offset: int = 0) -> tuple[list[Jar], int]:
    """Visits with their lots, the newest first, and how many there are in all."""
    visits = evidence.visits_page(survey, words, offset=offset, limit=PAGE)
    sites = {site.location_id: site for site in evidence.sites(survey)}
    checklist = evidence.checklist(survey)
    lots = in_groups(
        (lot.event_id, (lot, read_name(lot.scientific_name, checklist)))
        for lot in evidence.lots_of(survey, "event_id", [visit.event_id for visit in visits])
    )
    found = [
        Jar(visit=v, site=sites.get(v.location_id), lots=tuple(lots.get(v.event_id, ())))
        for v in visits
    ]
    return found, evidence.count_visits(survey, words)


def without_visit(survey: Survey, words: str = "") -> tuple[list[LooseLot], bool]:
    """Lots that no visit of the list goes with, the newest first, and whether there are more."""
    found = evidence.lots_without_visit(survey, words, limit=PAGE + 1)
    sites = {site.location_id: site for site in evidence.sites(survey)} if found else {}
    checklist = evidence.checklist(survey) if found else Checklist(())
    shown = [
        LooseLot(
            lot=lot,
            site=sites.get(lot.location_id),
            name=read_name(lot.scientific_name, checklist),
        )
        for lot in found[:PAGE]
    ]
    return shown, len(found) > PAGE


def choices(survey: Survey) -> tuple[list[Site], list[Taxon], list[str]]:
    """Sites, taxa and names of people, for completing what is typed."""
    names = sorted({one.name for one in people.known(survey) if one.name}, key=alphabetical)
    sites = sorted(evidence.sites(survey), key=lambda site: alphabetical(site.locality))
    return sites, evidence.taxa(survey), names
