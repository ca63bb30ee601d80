"""Read a jar's label as typed into its visit and lots, or say what cannot be used."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from rapidfuzz import fuzz, process, utils

from triage.checklist import Checklist, read_name
from triage.exuviae.records import ExuviaeLot, Site, Visit
from triage.exuviae.visits_and_lots import lot_of, visit_of
from triage.standards.digests import short_digest_of
from triage.standards.letters import bare
from triage.standards.tables import CellError, TableRow

NEAR_NAME = 60.0  # of 100, rapidfuzz's weighted ratio: below it two names are not alike
MOST_NEAR = 4  # sites offered in place of one that is not found
_FIELDS = {
    "locationID": "site",
    "eventDate": "day",
    "samplingProtocol": "protocol",
    "samplingEffort": "effort",
    "recordedBy": "collector",
    "eventRemarks": "remarks",
    "catalogNumber": "number",
    "scientificName": "name",
    "individualCount": "count",
    "occurrenceRemarks": "lot_remarks",
    "dateIdentified": "day",
}
_ADDRESS = re.compile(r"[^@\s<>,;\"]{1,64}@[^@\s<>,;\"]+\.[^@\s<>,;\"]+")


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelLine:
    """One taxon in the jar as typed. ``as_written``: kept although the checklist lacks it."""

    name: str
    count: str = ""
    sex: str = ""
    remarks: str = ""
    as_written: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """A jar's label as typed; without lines, a visit that found nothing."""

    site: str
    day: str
    until: str = ""
    collector: str = ""
    contact: str = ""
    number: str = ""
    protocol: str = ""
    effort: str = ""
    passes: str = ""
    permit: str = ""
    remarks: str = ""
    identified_by: str = ""
    lines: tuple[LabelLine, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelProblem:
    """What cannot be used: the field, its line of the jar if it has one, why, what may be meant."""

    field: str
    reason: str
    line: int | None = None
    near: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadLabel:
    """The visit and its lots; no visit where there are problems."""

    visit: Visit | None
    lots: tuple[ExuviaeLot, ...]
    problems: tuple[LabelProblem, ...]


def read_label(
    label: Label, sites: Sequence[Site], checklist: Checklist, *, today: date
) -> ReadLabel:
    """Read a label by the rules of the tables of visits and lots.

    Identifiers are derived: that of the visit from site, days, collector and lot number, those of
    several lots of one jar from its number and their place in it.
    """
    problems: list[LabelProblem] = []
    called = sites_called(label.site, sites)
    site = called[0] if len(called) == 1 else None
    if site is None:
        near = near_sites(label.site, sites)
        problems.append(LabelProblem(field="site", reason=_no_site(label.site, near), near=near))
    location = site.location_id if site else "no-site"
    visit = _visit(label, location, today, problems)
    if not label.lines and label.number.strip():
        reason = "A jar with a number holds something. Name it, or leave the number out."
        problems.append(LabelProblem(field="number", reason=reason))
    event = visit.event_id if visit else "no-visit"
    numbers = lot_numbers(label.number, event, len(label.lines))
    lots = []
    for place, line in enumerate(label.lines):
        lot = _lot(label, line, numbers[place], event, place, checklist, today, problems)
        if lot is not None:
            lots.append(lot)
    problems.extend(_contact_problems(label))
    if problems:
        return ReadLabel(visit=None, lots=(), problems=tuple(problems))
    return ReadLabel(visit=visit, lots=tuple(lots), problems=())


def _contact_problems(label: Label) -> list[LabelProblem]:
    contact = label.contact.strip()
    if not contact:
        return []
    if not _ADDRESS.fullmatch(contact):
        reason = (
            "This is not a mail address. Write one such as name@example.org, or leave it empty."
        )
        return [LabelProblem(field="contact", reason=reason)]
    if not label.collector.strip():
        reason = "The address has no name beside it. Write whose it is as the collector."
        return [LabelProblem(field="collector", reason=reason)]
    return []


def lot_numbers(number: str, event: str, count: int) -> list[str]:
    """The number on the jar for one lot, with a part for each of several; derived if it has none.

    Examples
    --------
    >>> lot_numbers("EX-7", "visit", 1), lot_numbers("EX-7", "visit", 2)
    (['EX-7'], ['EX-7/1', 'EX-7/2'])
    """
    whole = number.strip() or f"L-{event.removeprefix('J-')}"
    return [whole] if count == 1 else [f"{whole}/{one}" for one in range(1, count + 1)]


def sites_called(written: str, sites: Iterable[Site]) -> list[Site]:
    """The sites of this identifier, name or other name, whatever its capitals.

    Where nothing is called exactly so, those whose names differ in accents and strokes alone.
    """
    known = [(site, (site.locality, site.location_id, *site.aliases)) for site in sites]
    plain = _plain(written)
    exactly = [site for site, names in known if plain and plain in map(_plain, names)]
    return exactly or [site for site, names in known if plain and bare(plain) in map(_bare, names)]


def near_sites(written: str, sites: Sequence[Site]) -> tuple[str, ...]:
    """Names of sites that may be meant, the likeliest first."""
    names = {
        alias: site.locality
        for site in sites
        for alias in (site.locality, *site.aliases)
        if _plain(alias)
    }
    found = process.extract(
        written,
        list(names),
        scorer=fuzz.WRatio,
        processor=lambda text: utils.default_process(bare(text)),
        score_cutoff=NEAR_NAME,
        limit=3 * MOST_NEAR,
    )
    return tuple(dict.fromkeys(names[name] for name, _, _ in found))[:MOST_NEAR]


def _plain(text: str) -> str:
    return re.sub(r"\s+", " ", text).strip().casefold()


def _bare(text: str) -> str:
    return bare(_plain(text))


def _no_site(written: str, near: Sequence[str]) -> str:
    if not written.strip():
        return "The site is missing. Choose or type one."
    if near:
        return f"No one site is called {written.strip()}. Choose the one that is meant."
    return f"No site is called {written.strip()}. Import it first, or correct the name."


def _visit(label: Label, location: str, today: date, problems: list[LabelProblem]) -> Visit | None:
    days = "/".join(filter(None, (label.day.strip(), label.until.strip())))
    said = "\n".join((location, days, _plain(label.collector), label.number.strip()))
    cells = {
        "eventID": f"J-{short_digest_of(said)}",
        "locationID": location,
        "eventDate": days,
        "samplingProtocol": label.protocol.strip(),
        "samplingEffort": label.effort.strip(),
        "recordedBy": " ".join(label.collector.split()),
        "passes": label.passes.strip(),
        "permit": label.permit.strip(),
        "eventRemarks": label.remarks.strip(),
    }
    try:
        return visit_of(TableRow(line=1, cells=cells), today=today)
    except CellError as error:
        problems.append(_problem(error))
        return None


def _lot(
    label: Label,
    line: LabelLine,
    number: str,
    event: str,
    place: int,
    checklist: Checklist,
    today: date,
    problems: list[LabelProblem],
) -> ExuviaeLot | None:
    found = read_name(line.name, checklist)
    if found.taxon is None and len(checklist) and not line.as_written:
        reason = f"{found.problem[:1].upper()}{found.problem[1:]}."
        problems.append(LabelProblem(field="name", reason=reason, line=place, near=found.near))
        return None
    cells = {
        "catalogNumber": number,
        "eventID": event,
        "scientificName": line.name.strip(),
        "individualCount": line.count.strip(),
        "recordedBy": " ".join(label.collector.split()),
        "identifiedBy": " ".join(label.identified_by.split()),
        "sex": line.sex.strip(),
        "occurrenceRemarks": line.remarks.strip(),
    }
    try:
        return lot_of(TableRow(line=place + 1, cells=cells), today=today)
    except CellError as error:
        problems.append(_problem(error, place))
        return None


def _problem(error: CellError, line: int | None = None) -> LabelProblem:
    field = _FIELDS.get(error.column, error.column)
    return LabelProblem(field=field, reason=error.reason, line=line)
