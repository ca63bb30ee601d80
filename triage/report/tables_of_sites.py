"""The report's tables by site: evidence, lists, absences, where to search next, site values."""

from __future__ import annotations

from collections.abc import Sequence

from triage.exports.occurrences import degrees_text
from triage.matching import SearchPriority, SiteEvidence, strongest_evidence
from triage.matching.evidence import STRENGTH
from triage.report.findings import Findings
from triage.report.material import Material
from triage.report.parts import NOTHING, Table, number, raw, table, with_interval
from triage.report.plot_charts import (
    EVIDENCE_COLUMNS,
    LIST_COLUMNS,
    evidence_rows,
    list_rows,
)
from triage.report.site_measures import MeasureCorrelation
from triage.report.wording import dates, days, site_labels


def evidence_table(material: Material, evidence: Sequence[SiteEvidence]) -> Table:
    """Sites by taxa: the strongest evidence is shown, every kind is in the file."""
    labels = site_labels(material)
    best = strongest_evidence(evidence)
    shown = [
        (
            labels.get(row.location_id, row.location_id),
            row.scientific_name,
            row.evidence,
            row.evidence_class or NOTHING,
            str(row.count),
            dates(row.first_day, row.last_day),
        )
        for _, row in sorted(
            best.items(), key=lambda one: (one[0][0], STRENGTH.index(one[1].evidence), one[0][1])
        )
    ]
    return table(
        "evidence",
        "Strongest evidence of each taxon at each site",
        EVIDENCE_COLUMNS,
        evidence_rows(material, evidence),
        headings=("site", "taxon", "evidence", "class", "count", "days"),
        shown=shown,
        numeric=(4,),
        most=60,
        note="Count: individuals for exuviae, visits for searches, sightings for adults.",
        empty="No site has a determined adult or a lot of exuviae.",
    )


def lists_table(material: Material, findings: Findings) -> Table:
    """Adults against exuviae at every site, over all years."""
    labels = site_labels(material)
    shown = [
        (
            labels.get(one.location_id, "all sites"),
            one.rank,
            str(len(one.comparison.shared)),
            str(len(one.comparison.only_first)),
            str(len(one.comparison.only_second)),
            with_interval(one.comparison.jaccard),
            with_interval(one.comparison.sorensen),
            str(one.coarser),
        )
        for one in findings.lists
        if one.year is None
    ]
    return table(
        "lists",
        "List of adults against list of exuviae",
        LIST_COLUMNS,
        list_rows(material, findings.lists),
        headings=(
            *("site", "rank", "both", "adults only", "exuviae only", "Jaccard", "Sorensen"),
            "coarser names",
        ),
        shown=shown,
        numeric=(2, 3, 4, 5, 6, 7),
        note=(
            "Both indices are undefined where both lists are empty (an en dash). Names coarser than"
            " the rank are left out and counted in the last column."
        ),
        empty="No site has a list.",
    )


def absences_table(material: Material, findings: Findings) -> Table:
    """Taxa seen as adults at searched sites that gave no exuviae of them."""
    labels = site_labels(material)
    unit = "passes" if findings.detection.unit == "pass" else "visits"
    rows = [
        (
            one.location_id,
            labels.get(one.location_id, one.location_id),
            one.scientific_name,
            str(one.year),
            str(one.adults),
            str(one.visits),
            str(one.searches),
            unit,
            raw(one.missed),
            raw(one.prior),
            raw(one.absent_by_share),
            raw(one.absent),
            raw(one.absent_low),
            raw(one.absent_high),
        )
        for one in findings.absences
    ]
    shown = [
        (
            row[1],
            row[2],
            row[3],
            row[4],
            row[6],
            number(one.missed),
            f"{number(one.absent)} ({number(one.absent_low)} to {number(one.absent_high)})",
        )
        for row, one in zip(rows, findings.absences, strict=True)
    ]
    return table(
        "absences",
        "Seen as adults, not found as exuviae",
        (
            *("locationID", "locality", "scientificName", "year", "adultSightings", "visits"),
            *("searchesInEmergence", "searchUnit", "missedProbability", "shareOfSites"),
            "absenceByShare",
            *("absenceProbability", "absenceLow", "absenceHigh"),
        ),
        rows,
        headings=(
            *("site", "taxon", "year", "adults", f"{unit} in its days", "chance missed"),
            "chance absent",
        ),
        shown=shown,
        numeric=(3, 4, 5, 6),
        note=(
            f"{unit.capitalize()} in the days in which its skins may be on the shore, by the"
            " flight season of the checklist. Chance absent by Bayes' rule from even odds before"
            " the searches; in brackets at the lowest and highest detection. The file has it from"
            " the share of searched sites that gave the taxon, (x + 0.5)/(n + 1), as well."
        ),
        empty="Every taxon seen at a searched site was also found there as exuviae, or none was.",
    )


PRIORITY_COLUMNS = (
    *("rank", "kind", "locationID", "locality", "decimalLatitude", "decimalLongitude"),
    *("coordinateUncertaintyInMeters", "generalised", "score", "sightings", "tenerals", "pairs"),
    *("taxa", "protectedTaxa", "firstDay", "lastDay", "daysBasis", "daysByTaxon", "passes"),
    *("detection", "morePasses", "reason"),
)


def priority_rows(
    material: Material, priorities: Sequence[SearchPriority]
) -> list[tuple[str, ...]]:
    """Every place worth a search as the file has it."""
    labels = site_labels(material)
    return [
        (
            str(one.rank),
            one.kind,
            one.location_id,
            labels.get(one.location_id, "") if one.location_id else "",
            "" if one.decimal_latitude is None else f"{one.decimal_latitude:.10g}",
            "" if one.decimal_longitude is None else f"{one.decimal_longitude:.10g}",
            "" if one.radius_in_meters is None else f"{one.radius_in_meters:.0f}",
            "yes" if one.generalised else "no",
            raw(one.score),
            str(one.sightings),
            str(one.tenerals),
            str(one.pairs),
            " | ".join(one.taxa),
            " | ".join(one.protected_taxa),
            one.first_day,
            one.last_day,
            one.days_basis,
            " | ".join(f"{name} {first}/{last}" for name, first, last in one.days_by_taxon),
            str(one.passes),
            raw(one.detection),
            str(one.more_passes),
            one.reason,
        )
        for one in priorities
    ]


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
    shown = [
        (
            str(one.rank),
            place_text(material, one),
            one.kind,
            days(one.first_day, one.last_day),
            str(one.more_passes) if one.more_passes else NOTHING,
            number(one.score, 1),
            one.reason,
        )
        for one in priorities
    ]
    return table(
        "where-next",
        "Places worth a search for exuviae",
        PRIORITY_COLUMNS,
        priority_rows(material, priorities),
        headings=("rank", "place", "why", "best days", "passes missing", "weight", "in words"),
        shown=shown,
        numeric=(0, 4, 5),
        empty="No place stands out: match sightings first, or name more of them.",
    )


def measures_tables(material: Material, findings: Findings) -> tuple[Table, ...]:
    """Indices, medians of what was measured, and their rank correlations."""
    labels = site_labels(material)
    indices = [
        (
            one.index_name,
            one.location_id,
            labels.get(one.location_id, one.location_id),
            raw(one.index.total),
            raw(one.index.per_taxon),
            raw(len(one.index.scored)),
            raw(len(one.index.without_score)),
            " | ".join(one.index.scored),
            " | ".join(one.index.without_score),
        )
        for one in findings.indices
    ]
    values = [
        (
            one.location_id,
            labels.get(one.location_id, one.location_id),
            one.variable,
            one.unit,
            raw(one.median),
            raw(one.values),
        )
        for one in findings.values
    ]
    return (
        table(
            "biotic-index",
            "Biotic index by site, from its exuviae",
            (
                *("index", "locationID", "locality", "sum", "perScoredTaxon", "scoredTaxa"),
                *("taxaWithoutScore", "scored", "withoutScore"),
            ),
            indices,
            headings=("index", "site", "sum", "per scored taxon", "scored", "without score"),
            shown=[
                (row[0], row[2], row[3], number(one.index.per_taxon), row[5], row[6])
                for row, one in zip(indices, findings.indices, strict=True)
            ],
            numeric=(2, 3, 4, 5),
            empty="No scores are imported ('triage scores FILE.csv'), or no site gave exuviae.",
        ),
        table(
            "site-values",
            "Measured at sites, medians",
            ("locationID", "locality", "variable", "unit", "median", "values"),
            values,
            headings=("site", "variable", "unit", "median", "values"),
            shown=[row[1:] for row in values],
            numeric=(3, 4),
            empty="No site values are imported ('triage site-values FILE.csv').",
        ),
        correlations_table(findings.correlations),
    )


def correlations_table(found: Sequence[MeasureCorrelation]) -> Table:
    """Rank correlations over sites."""
    rows = [
        (
            one.variable,
            one.unit,
            one.against,
            raw(one.correlation.pairs),
            raw(one.correlation.rho),
            raw(one.correlation.rho_low),
            raw(one.correlation.rho_high),
            raw(one.correlation.rho_p),
            raw(one.correlation.tau),
            raw(one.correlation.tau_p),
        )
        for one in found
    ]
    return table(
        "correlations",
        "Rank correlation over sites",
        (
            *("variable", "unit", "against", "sites", "spearmanRho", "rhoLow", "rhoHigh"),
            *("rhoP", "kendallTau", "tauP"),
        ),
        rows,
        headings=("variable", "against", "sites", "Spearman's rho", "p", "Kendall's tau", "p"),
        shown=[
            (
                f"{one.variable} ({one.unit})" if one.unit else one.variable,
                one.against,
                str(one.correlation.pairs),
                f"{number(one.correlation.rho)} ({number(one.correlation.rho_low)} to"
                f" {number(one.correlation.rho_high)})",
                number(one.correlation.rho_p, 3),
                number(one.correlation.tau),
                number(one.correlation.tau_p, 3),
            )
            for one in found
        ],
        numeric=(2, 3, 4, 5, 6),
        note=(
            f"{len(rows)} pairs were tried, none was corrected for their number: about"
            " one in twenty seems related by chance alone."
        ),
        empty="Nothing measured and nothing to set against it.",
    )
