"""Import tables, add and withdraw a site: each as one action that can be taken back."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any, Literal

from triage.checklist import read_checklist, read_scores
from triage.errors import UnknownError
from triage.exuviae import (
    ExuviaeLot,
    Site,
    UnresolvedReference,
    new_site,
    open_references,
    placed,
    read_lots,
    read_site_values,
    read_sites,
    read_visits,
    resolve_lots,
)
from triage.standards.tables import DayOrder, RefusedRow
from triage.store import evidence, history, people
from triage.store.connection import Survey

Kind = Literal["sites", "visits", "lots", "checklist", "scores", "site-values"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ImportOutcome:
    """What became of every row of a table."""

    file: str
    accepted: int
    new: int
    changed: int
    refused: tuple[RefusedRow, ...]
    told: tuple[RefusedRow, ...] = ()  # of lines that are no records: nothing was refused there
    unresolved: tuple[UnresolvedReference, ...] = ()

    @property
    def lines(self) -> list[str]:
        """The same for people, with every refused row."""
        unchanged = self.accepted - self.new - self.changed
        return [
            f"{self.file}: {self.new} new, {self.changed} changed, {unchanged} unchanged,"
            f" {len(self.refused)} refused",
            *(
                f"  line {row.line}{', ' if row.column else ''}{row.column}: {row.reason}"
                for row in (*self.refused, *self.told)
            ),
            *(
                f"  unresolved, not counted yet: {one.record} {one.identifier}, '{one.value}':"
                f" {one.reason}"
                for one in self.unresolved
            ),
        ]


def parted(rows: Sequence[RefusedRow]) -> tuple[tuple[RefusedRow, ...], tuple[RefusedRow, ...]]:
    """The refused rows, and what is only told of a table, each by their lines."""
    rows = sorted(rows, key=lambda row: row.line)
    refused = tuple(row for row in rows if not row.only_told)
    return refused, tuple(row for row in rows if row.only_told)


def import_table(
    survey: Survey,
    kind: Kind,
    path: Path,
    *,
    by: str,
    now: datetime,
    twins: bool = False,
    day_order: DayOrder = "",
) -> ImportOutcome:
    """Insert or update the rows of a table that can be used; log it if anything changed.

    A lot whose name the checklist does not resolve is kept and listed, and counts nowhere until the
    checklist has the name or the lot is corrected. Values of a site that is not imported yet are no
    error; the report counts such rows. With ``twins`` sites that share a name or a
    point are two; ``day_order`` says how days are written where the table does not show it.
    """
    records, wrong = _read(
        survey, kind, path, today=latest_day(now), twins=twins, day_order=day_order
    )
    refused, told = parted(wrong)
    with survey.transaction():
        changes = evidence.save(survey, records)
        new = sum(change.before is None for change in changes)
        changed = len(changes) - new
        summary = f"{path.name}: {new} new, {changed} changed, {len(refused)} refused"
        history.act(survey, changes, kind, summary, by=by, now=now)
    return ImportOutcome(
        file=str(path),
        accepted=len(records),
        new=new,
        changed=changed,
        refused=refused,
        told=told,
        unresolved=tuple(_unresolved(survey, kind)),
    )


def _unresolved(survey: Survey, kind: Kind) -> list[UnresolvedReference]:
    """What a table of visits or lots leaves open, of this one and of those before."""
    if kind not in ("visits", "lots"):
        return []
    names = unresolved_lots(survey) if kind == "lots" else []
    return [*names, *(one for one in references(survey) if f"{one.record}s" == kind)]


def references(survey: Survey) -> list[UnresolvedReference]:
    """What visits and lots refer to and the survey does not hold, and where they disagree."""
    return open_references(evidence.sites(survey), *evidence.of_open_references(survey))


def _read(
    survey: Survey, kind: Kind, path: Path, *, today: date, twins: bool, day_order: DayOrder
) -> tuple[Sequence[Any], Sequence[RefusedRow]]:
    """The records of a table, and what is wrong or to be told of its rows."""
    around = survey.settings.survey
    dated: dict[str, Any] = {"today": today, "day_order": day_order}
    match kind:
        case "sites":
            known = evidence.sites(survey)
            return read_sites(
                path, area=around.area, zone=around.time_zone, known=known, twins=twins
            )
        case "visits":
            sites = evidence.sites(survey)
            dated["people"] = people.names(survey).values()
            return read_visits(path, sites=sites, known=evidence.visits(survey), **dated)
        case "lots":
            dated["people"] = people.names(survey).values()
            return read_lots(path, known=evidence.lots(survey), **dated)
        case "checklist":
            return read_checklist(path, known=evidence.taxa(survey))
        case "scores":
            return read_scores(path, checklist=evidence.checklist(survey))
        case "site-values":
            return read_site_values(path, sites=evidence.sites(survey), **dated)


def latest_day(now: datetime) -> date:
    """The day that it is where on Earth it is latest (UTC+14): no record is of a later one."""
    return (now + timedelta(hours=14)).date()


def counted_lots(survey: Survey, at: Collection[str] | None = None) -> list[ExuviaeLot]:
    """The lots that count, of all sites or of these: of accepted names, with a day and a site."""
    if at is None:
        lots, visits = evidence.lots(survey), evidence.visits(survey)
    else:
        lots, visits = evidence.lots_at(survey, at)
    resolved, _ = resolve_lots(lots, evidence.checklist(survey))
    return placed(resolved, visits, {site.location_id for site in evidence.sites(survey)})


def unresolved_lots(survey: Survey) -> list[UnresolvedReference]:
    """The lots whose names the checklist does not resolve, each with the nearest names.

    Whether a lot resolves is a matter of its words alone, so each wording is tried once.
    """
    checklist = evidence.checklist(survey)
    odd = {one.value for one in resolve_lots(evidence.lots_worded_apart(survey), checklist)[1]}
    return (
        resolve_lots(evidence.lots_of(survey, "scientific_name", odd), checklist)[1] if odd else []
    )


def withdraw_site(survey: Survey, site: str, *, by: str, now: datetime) -> int:
    """Take a site that was typed by mistake off the list; taking this back puts it there again.

    Returns how many visits and lots name it: they are kept, and count nowhere without it.

    Raises
    ------
    UnknownError
        If there is no site of that identifier.
    """
    with survey.transaction():
        changes = history.remove_row(survey, "sites", {"location_id": site})
        if not changes:
            raise UnknownError(
                "there is no such site", failing=site, next_step="See 'triage sites' for them."
            )
        history.act(survey, changes, "sites", f"{site} withdrawn", by=by, now=now)
    lots, visits = evidence.lots_at(survey, [site])
    return len(lots) + sum(visit.location_id == site for visit in visits)


def add_site(
    survey: Survey,
    name: str,
    latitude: float | None,
    longitude: float | None,
    *,
    habitat: str = "",
    private: bool = False,
    by: str,
    now: datetime,
) -> Site:
    """Add a site; its identifier follows from its name and point. Undo takes it off the list.

    Raises
    ------
    UnknownError
        If the name or the point is missing, or a site is called so already.
    """
    known = evidence.sites(survey)
    made = new_site(name, latitude, longitude, known, habitat=habitat, private=private)
    with survey.transaction():
        changes = evidence.save(survey, [made])
        history.act(survey, changes, "sites", f"{made.locality}: new", by=by, now=now)
    return made
