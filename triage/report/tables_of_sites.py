"""The report's tables by site: evidence, lists, absences, where to search next, site values."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from triage.estimates.interval import Estimate
from triage.exports.occurrences import degrees_text
from triage.matching import SearchPriority, SiteEvidence, strongest_evidence
from triage.matching.evidence import STRENGTH
from triage.matching.search_priority import LEAST_OF
from triage.report.columns import declared, of_site
from triage.report.findings import Findings
from triage.report.lists import SiteLists
from triage.report.material import Material
from triage.report.parts import NOTHING, Table
from triage.report.site_measures import MeasureCorrelation
from triage.report.wording import dates, days, site_labels
from triage.standards.counting import counted
from triage.standards.letters import alphabetical

PASSES_OF_A_SEASON = 10  # more than anybody is asked for, about weekly (common practice, no source)


def evidence_table(material: Material, evidence: Sequence[SiteEvidence]) -> Table:
    """Sites by taxa: the strongest evidence is shown, every kind is in the file."""
    best, labels = strongest_evidence(evidence), site_labels(material)
    strongest_first = sorted(
        best.items(),
        key=lambda one: (
            alphabetical(labels[one[0][0]]),
            STRENGTH.index(one[1].evidence),
            one[0][1],
        ),
    )
    years: dict[tuple[str, str, str], set[str]] = {}
    for row in evidence:
        if row.year:
            key = (row.location_id, row.scientific_name, row.evidence)
            years.setdefault(key, set()).add(str(row.year))

    def years_of(row: SiteEvidence) -> str:
        key = (row.location_id, row.scientific_name, row.evidence)
        return ", ".join(sorted(years.get(key, ()))) or NOTHING

    return declared(
        "evidence",
        evidence,
        shown=[row for _, row in strongest_first],
        says={
            **of_site(material),
            "days": lambda row: dates(row.first_day, row.last_day),
            "years": years_of,
        },
    )


def lists_table(material: Material, lists: Sequence[SiteLists]) -> Table:
    """Adults against exuviae at every site, over all years."""
    labels = site_labels(material)
    return declared(
        "lists",
        lists,
        shown=[one for one in lists if one.year is None],
        says={
            "location_or_all": lambda one: one.location_id or "all",
            "site": lambda one: labels.get(one.location_id, "all sites"),
            "year_or_all": lambda one: "all" if one.year is None else one.year,
            "shared": lambda one: len(one.comparison.shared),
            "adultsOnly": lambda one: len(one.comparison.only_first),
            "exuviaeOnly": lambda one: len(one.comparison.only_second),
        },
    )


def absences_table(material: Material, findings: Findings) -> Table:
    """Taxa seen as adults at searched sites that gave no exuviae of them."""
    return declared(
        "absences",
        findings.absences,
        says={
            **of_site(material),
            "absent": lambda one: Estimate(
                value=one.absent, low=one.absent_low, high=one.absent_high, variant=""
            ),
        },
    )


def passes_text(one: SearchPriority) -> str:
    """How many passes a place had and how many more would be enough, for people."""
    made = counted(one.passes, "pass", "passes") if one.passes else "No pass"
    several = one.location_id and len(one.taxa) > 1
    which = f"the days of {LEAST_OF}these taxa" if several else "these days"
    made += f" made in {which} so far this season"
    if not one.more_passes:
        return f"{made}."
    if one.more_passes > PASSES_OF_A_SEASON:
        chance = (
            f", finding what is there with a chance of {100 * one.detection:.0f} %"
            if one.passes
            else ""
        )
        return f"{made}{chance}. By this survey's finds a pass often misses: every pass helps."
    more = f"{one.more_passes}{' more' if one.passes else ''}"
    return f"{made}; {more} would find what is there with a chance of about 95 %."


def place_text(material: Material, one: SearchPriority) -> str:
    """Where a priority is, for people."""
    if one.location_id:
        return site_labels(material).get(one.location_id, one.location_id)
    if one.decimal_latitude is None or one.decimal_longitude is None:
        return "a place that is not told"
    radius = "" if one.radius_in_meters is None else f", within {one.radius_in_meters:.0f} m"
    return spot_text(material, one.decimal_latitude, one.decimal_longitude) + radius


def spot_text(material: Material, latitude: float, longitude: float) -> str:
    """Coordinates with the decimals of the release; five (about a metre) where they are exact."""
    precision = None if material.internal else material.release.policy.release_precision
    return ", ".join(
        f"{value:.5f}" if precision is None else degrees_text(value, precision)
        for value in (latitude, longitude)
    )


def priorities_table(material: Material, priorities: Sequence[SearchPriority]) -> Table:
    """Where to search next."""
    labels = {**site_labels(material), "": ""}
    return declared(
        "where-next",
        priorities,
        says={
            "place": lambda one: place_text(material, one),
            "site": lambda one: labels.get(one.location_id, ""),
            "whole_metres": whole_metres,
            "generalised_word": lambda one: "yes" if one.generalised else "no",
            "days": lambda one: days(one.first_day, one.last_day),
            "passes_missing": lambda one: one.more_passes or NOTHING,
            "days_in_words": lambda one: tuple(
                f"{name} {first}/{last}" for name, first, last in one.days_by_taxon
            ),
        },
    )


def whole_metres(one: SearchPriority) -> int | None:
    """Its radius, rounded; None where it is not known."""
    return None if one.radius_in_meters is None else round(one.radius_in_meters)


def measures_tables(material: Material, findings: Findings) -> tuple[Table, ...]:
    """Indices, medians of what was measured, and their rank correlations."""
    here = of_site(material)
    scores = {
        "scored": lambda one: len(one.index.scored),
        "without_score": lambda one: len(one.index.without_score),
    }
    return (
        declared("biotic-index", findings.indices, says={**here, **scores}),
        declared("site-values", findings.values, says=here),
        correlations_table(findings.correlations),
    )


def correlations_table(found: Sequence[MeasureCorrelation]) -> Table:
    """Rank correlations over sites."""

    def rho(one: MeasureCorrelation) -> Estimate:
        rank = one.correlation
        return Estimate(value=rank.rho, low=rank.rho_low, high=rank.rho_high, variant="")

    return declared(
        "correlations",
        found,
        says={
            "variable_and_unit": lambda r: f"{r.variable} ({r.unit})" if r.unit else r.variable,
            "rho": rho,
        },
        pairs=len(found),
    )


def said_what_is_kept_back(table: Table, here: Material) -> Table:
    """The table with a note of what is not in it; without one, absence would read as a result."""
    kept_back = "; ".join(here.withheld)
    note = f"Not in this table, as in an export: {kept_back}. --internal shows all."
    return replace(table, note=note if kept_back else "")
