"""Say how sure an absence is after searches without a find: not found is not absent."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from triage.estimates.detection import absence_probability
from triage.matching import Effort, SiteEvidence, Waters
from triage.matching.candidates import name_of_lot
from triage.report.lists import ADULTS
from triage.report.material import Material

EVEN = 0.5  # chance of presence before the searches, where nothing is known of it


@dataclass(frozen=True, slots=True, kw_only=True)
class Absence:
    """A taxon seen as an adult at a searched site that gave no exuviae of it in a year.

    ``passes`` are those of the year that fell into its days. ``missed`` is the chance that they
    all missed it if it was there; ``absent`` the chance that it was not there, both being as
    likely before the searches, at the lowest and the highest detection as well.
    ``absent_by_rate`` takes ``prior`` instead, the share of waters that have the taxon by all
    searches, which leaves out of account that it was seen flying here.
    """

    location_id: str
    scientific_name: str
    year: int
    adults: int
    visits: int
    passes: int
    missed: float
    prior: float
    absent_by_rate: float
    absent: float
    absent_low: float
    absent_high: float


def effort_of(material: Material) -> Effort:
    """The survey's searches, with their detection, as matching takes them."""
    return Effort(
        material.content.visits,
        material.content.lots,
        material.checklist,
        stated_detection=material.settings.detection_per_pass,
        skins_last_days=material.settings.skins_last_days,
    )


def absences(
    material: Material, evidence: tuple[SiteEvidence, ...], effort: Effort
) -> list[Absence]:
    """Every taxon seen as an adult at a searched site without exuviae of its own or its genus."""
    checklist = material.checklist
    adults: dict[tuple[str, str, int], int] = defaultdict(int)
    ranks: dict[str, str] = {}
    for row in evidence:
        if row.evidence in ADULTS:
            adults[(row.location_id, row.scientific_name, row.year)] += row.count
            ranks[row.scientific_name] = row.taxon_rank
    found: set[tuple[str, int, str]] = set()
    for lot in effort.lots:
        if lot.individual_count and lot.last_day:
            name, _ = name_of_lot(checklist, lot)
            found.add((lot.location_id, int(lot.last_day[:4]), name))
    waters = Waters(material.content.sites, effort)
    rows = []
    for (location_id, name, year), count in sorted(adults.items()):
        visits = int(((effort.location == location_id) & (effort.year == year)).sum())
        above = {name, *checklist.lineage(name).values()}
        if not visits or any((location_id, year, one) in found for one in above):
            continue
        taxa = effort.candidates.of(name, ranks[name])
        passes = effort.passes_at(location_id, taxa, year=year)
        prior = sum(waters.of(taxon).anywhere for taxon in taxa) / len(taxa)
        missed = effort.detection.missed(passes)
        rows.append(
            Absence(
                location_id=location_id,
                scientific_name=name,
                year=year,
                adults=count,
                visits=visits,
                passes=passes,
                missed=float(missed),
                prior=prior,
                absent_by_rate=float(absence_probability(missed, prior=prior)),
                absent=float(absence_probability(missed, prior=EVEN)),
                absent_low=_absent(effort, passes, effort.detection.low),
                absent_high=_absent(effort, passes, effort.detection.high),
            )
        )
    return rows


def _absent(effort: Effort, passes: int, detection: float) -> float:
    missed = effort.detection.missed(passes, at=detection)
    return float(absence_probability(missed, prior=EVEN))
