"""The report's tables by site: evidence, lists, absences, where to search next, site values."""

from __future__ import annotations

from collections.abc import Sequence

from triage.exports.occurrences import degrees_text
from triage.matching import SearchPriority, SiteEvidence, strongest_evidence
from triage.matching.evidence import STRENGTH
from triage.report.columns import (
    Column,
    counted,
    declared,
    interval,
    measured,
    of_site,
    only_filed,
    only_shown,
)
from triage.report.findings import Findings
from triage.report.lists import SiteLists
from triage.report.material import Material
from triage.report.parts import NOTHING, Table, number
from triage.report.site_measures import MeasureCorrelation
from triage.report.wording import dates, days, site_labels


def evidence_table(material: Material, evidence: Sequence[SiteEvidence]) -> Table:
    """Sites by taxa: the strongest evidence is shown, every kind is in the file."""
    labels = site_labels(material)
    best = strongest_evidence(evidence)
    strongest_first = sorted(
        best.items(), key=lambda one: (one[0][0], STRENGTH.index(one[1].evidence), one[0][1])
    )
    return declared(
        "evidence",
        "Strongest evidence of each taxon at each site",
        evidence,
        (
            *of_site(labels),
            Column("scientificName", "taxon", lambda row: row.scientific_name),
            *only_filed(taxonRank=lambda row: row.taxon_rank, year=lambda row: row.year),
            Column("evidence", "evidence", lambda row: row.evidence),
            Column(
                "evidenceClass",
                "class",
                lambda row: row.evidence_class,
                lambda row: row.evidence_class or NOTHING,
            ),
            counted("count", "count", lambda row: row.count),
            *only_filed(firstDay=lambda row: row.first_day, lastDay=lambda row: row.last_day),
            only_shown("days", lambda row: dates(row.first_day, row.last_day)),
        ),
        shown=[row for _, row in strongest_first],
        most=60,
        note="Count: individuals for exuviae, visits for searches, sightings for adults.",
        empty="No site has a determined adult or a lot of exuviae.",
    )


def lists_table(material: Material, lists: Sequence[SiteLists]) -> Table:
    """Adults against exuviae at every site, over all years."""
    labels = site_labels(material)
    return declared(
        "lists",
        "List of adults against list of exuviae",
        lists,
        (
            *only_filed(locationID=lambda one: one.location_id or "all"),
            Column("locality", "site", lambda one: labels.get(one.location_id, "all sites")),
            *only_filed(year=lambda one: "all" if one.year is None else one.year),
            Column("rank", "rank", lambda one: one.rank),
            counted("shared", "both", lambda one: len(one.comparison.shared)),
            counted("adultsOnly", "adults only", lambda one: len(one.comparison.only_first)),
            counted("exuviaeOnly", "exuviae only", lambda one: len(one.comparison.only_second)),
            *interval(
                ("jaccard", "jaccardLow", "jaccardHigh"),
                "Jaccard",
                lambda one: one.comparison.jaccard,
            ),
            *interval(
                ("sorensen", "sorensenLow", "sorensenHigh"),
                "Sorensen",
                lambda one: one.comparison.sorensen,
            ),
            counted("coarserNamesLeftOut", "coarser names", lambda one: one.coarser),
            *only_filed(
                sharedTaxa=lambda one: " | ".join(one.comparison.shared),
                adultsOnlyTaxa=lambda one: " | ".join(one.comparison.only_first),
                exuviaeOnlyTaxa=lambda one: " | ".join(one.comparison.only_second),
            ),
        ),
        shown=[one for one in lists if one.year is None],
        note=(
            "Both indices are undefined where both lists are empty (an en dash). Names coarser than"
            " the rank are left out and counted in the last column."
        ),
        empty="No site has a list.",
    )


def absences_table(material: Material, findings: Findings) -> Table:
    """Taxa seen as adults at searched sites that gave no exuviae of them."""
    labels = site_labels(material)
    return declared(
        "absences",
        "Seen as adults, not found as exuviae",
        findings.absences,
        (
            *of_site(labels),
            Column("scientificName", "taxon", lambda one: one.scientific_name),
            Column("year", "year", lambda one: one.year),
            counted("adultSightings", "adults", lambda one: one.adults),
            *only_filed(visits=lambda one: one.visits),
            counted("passesInItsDays", "passes in its days", lambda one: one.passes),
            measured("missedProbability", "chance missed", lambda one: one.missed),
            *only_filed(
                shareOfWaters=lambda one: one.prior, absenceByShare=lambda one: one.absent_by_rate
            ),
            counted(
                "absenceProbability",
                "chance absent",
                lambda one: one.absent,
                lambda one: _between(one.absent, one.absent_low, one.absent_high),
            ),
            *only_filed(
                absenceLow=lambda one: one.absent_low, absenceHigh=lambda one: one.absent_high
            ),
        ),
        note=(
            "Passes in the days in which its skins may be on the shore, by the flight season of the"
            " checklist. Chance absent by Bayes' rule from even odds before the searches; in"
            " brackets at the lowest and highest detection. The file has it from the share of"
            " waters that have the taxon by all searches as well."
        ),
        empty="Every taxon seen at a searched site was also found there as exuviae, or none was.",
    )


def _between(value: float, low: float, high: float) -> str:
    return f"{number(value)} ({number(low)} to {number(high)})"


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
    labels = site_labels(material)
    return declared(
        "where-next",
        "Places worth a search for exuviae",
        priorities,
        (
            counted("position", "number", lambda one: one.rank),
            only_shown("place", lambda one: place_text(material, one)),
            Column("kind", "why", lambda one: one.kind),
            *only_filed(
                locationID=lambda one: one.location_id,
                locality=lambda one: labels.get(one.location_id, "") if one.location_id else "",
            ),
            Column("decimalLatitude", "", lambda one: one.decimal_latitude, digits=10),
            Column("decimalLongitude", "", lambda one: one.decimal_longitude, digits=10),
            *only_filed(
                coordinateUncertaintyInMeters=lambda one: (
                    None if one.radius_in_meters is None else round(one.radius_in_meters)
                ),
                generalised=lambda one: "yes" if one.generalised else "no",
            ),
            only_shown("best days", lambda one: days(one.first_day, one.last_day)),
            only_shown(
                "passes missing",
                lambda one: str(one.more_passes) if one.more_passes else NOTHING,
                numeric=True,
            ),
            measured("weight", "weight", lambda one: one.score, 1),
            *only_filed(
                sightings=lambda one: one.sightings,
                outings=lambda one: one.outings,
                tenerals=lambda one: one.tenerals,
                pairs=lambda one: one.pairs,
                taxa=lambda one: " | ".join(one.taxa),
                protectedTaxa=lambda one: " | ".join(one.protected_taxa),
                firstDay=lambda one: one.first_day,
                lastDay=lambda one: one.last_day,
                daysBasis=lambda one: one.days_basis,
                daysByTaxon=_days_by_taxon,
                passes=lambda one: one.passes,
                detection=lambda one: one.detection,
                morePasses=lambda one: one.more_passes,
            ),
            Column("reason", "in words", lambda one: one.reason),
        ),
        empty="No place stands out: match sightings first, or name more of them.",
    )


def _days_by_taxon(one: SearchPriority) -> str:
    return " | ".join(f"{name} {first}/{last}" for name, first, last in one.days_by_taxon)


def measures_tables(material: Material, findings: Findings) -> tuple[Table, ...]:
    """Indices, medians of what was measured, and their rank correlations."""
    labels = site_labels(material)
    return (
        declared(
            "biotic-index",
            "Biotic index by site, from its exuviae",
            findings.indices,
            (
                Column("index", "index", lambda one: one.index_name),
                *of_site(labels),
                counted("sum", "sum", lambda one: one.index.total),
                measured("perScoredTaxon", "per scored taxon", lambda one: one.index.per_taxon),
                counted("scoredTaxa", "scored", lambda one: len(one.index.scored)),
                counted("taxaWithoutScore", "without score", lambda r: len(r.index.without_score)),
                *only_filed(
                    scored=lambda one: " | ".join(one.index.scored),
                    withoutScore=lambda one: " | ".join(one.index.without_score),
                ),
            ),
            empty="No scores are imported ('triage scores FILE.csv'), or no site gave exuviae.",
        ),
        declared(
            "site-values",
            "Measured at sites, medians",
            findings.values,
            (
                *of_site(labels),
                Column("variable", "variable", lambda one: one.variable),
                Column("unit", "unit", lambda one: one.unit),
                counted("median", "median", lambda one: one.median),
                counted("values", "values", lambda one: one.values),
            ),
            empty="No site values are imported ('triage site-values FILE.csv').",
        ),
        correlations_table(findings.correlations),
    )


def correlations_table(found: Sequence[MeasureCorrelation]) -> Table:
    """Rank correlations over sites."""
    return declared(
        "correlations",
        "Rank correlation over sites",
        found,
        (
            Column(
                "variable",
                "variable",
                lambda one: one.variable,
                lambda one: f"{one.variable} ({one.unit})" if one.unit else one.variable,
            ),
            *only_filed(unit=lambda one: one.unit),
            Column("against", "against", lambda one: one.against),
            counted("sites", "sites", lambda one: one.correlation.pairs),
            counted(
                "spearmanRho",
                "Spearman's rho",
                lambda one: one.correlation.rho,
                lambda one: _between(
                    one.correlation.rho, one.correlation.rho_low, one.correlation.rho_high
                ),
            ),
            *only_filed(
                rhoLow=lambda one: one.correlation.rho_low,
                rhoHigh=lambda one: one.correlation.rho_high,
            ),
            measured("rhoP", "p", lambda one: one.correlation.rho_p, 3),
            measured("kendallTau", "Kendall's tau", lambda one: one.correlation.tau),
            measured("tauP", "p", lambda one: one.correlation.tau_p, 3),
        ),
        note=(
            f"{len(found)} pairs were tried, none was corrected for their number: about"
            " one in twenty seems related by chance alone."
        ),
        empty="Nothing measured and nothing to set against it.",
    )
