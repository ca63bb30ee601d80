"""Searches without a find in, how sure each absence is out: not found is not absent."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from triage.checklist import Checklist
from triage.estimates.detection import (
    PUBLISHED_DETECTION,
    absence_probability,
    estimate_detection,
    missed_probability,
)
from triage.estimates.interval import Estimate
from triage.exuviae import Visit
from triage.matching import SiteEvidence, search_days
from triage.report.lists import ADULTS
from triage.report.material import Material
from triage.report.samples import name_of_lot, unit_of_lot

FEWEST_REPEATED = 20  # repeatedly searched cases with a find; with fewer the setting holds
WIDEST_INTERVAL = 0.4  # of an own estimate that is used
EVEN = 0.5  # chance of presence before the searches, where nothing is known of it
PUBLISHED_RANGE = (0.49, 0.75)  # DuBois 2015: of ten river stations, Anisoptera


@dataclass(frozen=True, slots=True, kw_only=True)
class Detection:
    """The chance that one search finds what is there, and where it comes from.

    ``unit`` is ``visit`` for the survey's own estimate and ``pass`` for the stated setting;
    ``own`` is the survey's own estimate even where it is not used, from ``repeated`` cases (a
    taxon found at a site that was searched twice or more in its days of emergence).
    """

    used: float
    low: float
    high: float
    unit: str
    source: str
    own: Estimate
    repeated: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Absence:
    """A taxon seen as an adult at a searched site that gave no exuviae of it in a year.

    ``searches`` are the visits (or passes) that fell into its days of emergence. ``missed`` is
    the chance that they all missed it if it was there; ``absent`` the chance that it was not
    there, both being as likely before the searches, with the interval that the detection's own
    gives. ``absent_by_share`` takes ``prior`` instead, the share of the searched sites that gave
    the taxon, which leaves out of account that it was seen flying here.
    """

    location_id: str
    scientific_name: str
    year: int
    adults: int
    visits: int
    searches: int
    missed: float
    prior: float
    absent_by_share: float
    absent: float
    absent_low: float
    absent_high: float


def detection_of(material: Material) -> Detection:
    """The survey's own detection where enough sites were searched repeatedly, else the setting."""
    searches = _finds_and_searches(material)
    own = estimate_detection(searches)
    repeated = sum(finds >= 1 and total >= 2 for finds, total in searches)
    stated = material.settings.detection_per_pass
    narrow = own.high - own.low <= WIDEST_INTERVAL
    if repeated >= FEWEST_REPEATED and 0 < own.value < 1 and narrow:
        return Detection(
            used=own.value,
            low=own.low,
            high=own.high,
            unit="visit",
            source=f"this survey's own estimate from {repeated} repeatedly searched cases",
            own=own,
            repeated=repeated,
        )
    low, high = PUBLISHED_RANGE if stated == PUBLISHED_DETECTION else (stated, stated)
    return Detection(
        used=stated,
        low=low,
        high=high,
        unit="pass",
        source="the stated setting",
        own=own,
        repeated=repeated,
    )


def absences(
    material: Material, evidence: tuple[SiteEvidence, ...], detection: Detection
) -> list[Absence]:
    """Every taxon seen as an adult at a searched site without exuviae of its own or its genus."""
    adults: dict[tuple[str, str, int], int] = defaultdict(int)
    ranks: dict[str, str] = {}
    for row in evidence:
        if row.evidence in ADULTS:
            adults[(row.location_id, row.scientific_name, row.year)] += row.count
            ranks[row.scientific_name] = row.taxon_rank
    found_at: dict[str, set[tuple[str, int]]] = defaultdict(set)
    for lot in material.content.lots:
        if lot.individual_count and lot.last_day:
            name, _ = name_of_lot(material.checklist, lot)
            found_at[name].add((lot.location_id, int(lot.last_day[:4])))
    by_site: dict[tuple[str, int], list[Visit]] = defaultdict(list)
    for visit in material.content.visits:
        by_site[(visit.location_id, int(visit.last_day[:4]))].append(visit)
    rows = []
    for (location_id, name, year), count in sorted(adults.items()):
        visits = by_site.get((location_id, year), [])
        above = {name, *material.checklist.lineage(name).values()}
        if not visits or any((location_id, year) in found_at[one] for one in above):
            continue
        within = [v for v in visits if in_emergence(v, name, material.checklist)]
        searches = sum(v.passes for v in within) if detection.unit == "pass" else len(within)
        searched = [key for key in by_site if key[1] == year]
        with_it = sum(key in found_at[name] for key in searched)
        prior = (with_it + 0.5) / (len(searched) + 1)
        rows.append(
            Absence(
                location_id=location_id,
                scientific_name=name,
                year=year,
                adults=count,
                visits=len(visits),
                searches=searches,
                missed=missed_probability(detection.used, searches),
                prior=prior,
                absent_by_share=absence_probability(detection.used, searches, prior=prior),
                absent=absence_probability(detection.used, searches, prior=EVEN),
                absent_low=absence_probability(max(detection.low, 0.0), searches, prior=EVEN),
                absent_high=absence_probability(min(detection.high, 1.0), searches, prior=EVEN),
            )
        )
    return rows


def in_emergence(visit: Visit, name: str, checklist: Checklist) -> bool:
    """Whether a visit fell into the days in which skins of a taxon may be on the shore.

    By the flight season of the checklist alone: the survey's own finds would make every search
    without one look out of season. A taxon without a season counts on every day.
    """
    days = search_days([name], [], checklist)
    if days is None:
        return True
    first = date.fromisoformat(visit.first_day).timetuple().tm_yday
    last = date.fromisoformat(visit.last_day).timetuple().tm_yday
    inside = [
        days.first <= day <= days.last
        if days.first <= days.last
        else day >= days.first or day <= days.last
        for day in (first, last)
    ]
    return any(inside)


def _finds_and_searches(material: Material) -> list[tuple[int, int]]:
    """For each taxon, site and year with a find: visits with it, and visits in its days."""
    known: Mapping[str, Visit] = {visit.event_id: visit for visit in material.content.visits}
    finds: dict[tuple[str, str, int], set[str]] = defaultdict(set)
    for lot in material.content.lots:
        if lot.individual_count and lot.last_day and lot.event_id in known:
            name, _ = name_of_lot(material.checklist, lot)
            key = (name, lot.location_id, int(lot.last_day[:4]))
            finds[key].add(unit_of_lot(lot, known))
    pairs = []
    for (name, location_id, year), units in sorted(finds.items()):
        searched = {
            visit.event_id
            for visit in material.content.visits
            if visit.location_id == location_id
            and int(visit.last_day[:4]) == year
            and in_emergence(visit, name, material.checklist)
        }
        pairs.append((len(units), len(searched | units)))
    return pairs
