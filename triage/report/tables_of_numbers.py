"""The report's tables of the whole survey: richness, seasons, agreement, losses."""

from __future__ import annotations

from collections.abc import Sequence

from triage.estimates.interval import FEWEST_VISITS, wilson
from triage.matching import Effect
from triage.report.columns import (
    Column,
    counted,
    declared,
    interval,
    measured,
    of_scope,
    of_site,
    only_filed,
    only_shown,
)
from triage.report.findings import CoverageRow, Findings
from triage.report.material import Loss, Material
from triage.report.parts import NOTHING, Table, table, with_interval
from triage.report.richness_tables import CurvePoint, RichnessRow
from triage.report.seasons import SeasonRow
from triage.report.wording import day_of_year, site_labels


def richness_table(findings: Findings) -> Table:
    """Every estimator by name; the whole survey is shown, sites and years are in the file."""
    columns: tuple[Column[RichnessRow], ...] = (
        *only_filed(
            record=lambda row: row.record,
            scope=lambda row: row.scope,
            samples=lambda row: row.samples,
            individuals=lambda row: row.individuals,
            observedTaxa=lambda row: row.observed,
            estimator=lambda row: row.estimator,
        ),
        *interval(("estimate", "low95", "high95"), "", lambda row: row.estimate),
        *only_filed(
            standardError=lambda row: row.estimate.standard_error,
            variant=lambda row: row.estimate.variant,
        ),
    )
    filed = declared("richness", "", findings.richness, columns)
    return table(
        "richness",
        "How many taxa there are, the whole survey",
        filed.columns,
        filed.rows,
        headings=("estimator", "exuviae", "adults"),
        shown=_estimators(findings),
        numeric=(1, 2),
        note=(
            "Taxa of the waters searched; of other waters nothing is said. 95 % intervals; where a"
            " simulation of clumped visits found that one holds less often, it says how often"
            " (docs/analyst.md). The three variants of Chao's estimator give three answers on the"
            " same data; quote the one you use by its formula. Chao1 and ACE count skins, or"
            " sightings; the others count visits, or outings. Skins of one visit are no"
            " independent draws: where none is alone, Chao1 and ACE see nothing missing, and the"
            " others are to be trusted."
        ),
        empty="No visit gave exuviae and no adult is named yet.",
    )


def _estimators(findings: Findings) -> list[tuple[str, str, str]]:
    """One line an estimator, exuviae and adults beside each other, what was observed first."""
    whole = [row for row in findings.richness if row.scope == "all"]
    cells = {(row.estimator, row.record): with_interval(row.estimate, 1) for row in whole}
    formula = {row.estimator: _formula(row) for row in whole}
    cells |= {("observed", row.record): str(row.observed) for row in whole}
    names = dict.fromkeys(row.estimator for row in findings.richness)
    return [
        (
            formula.get(name, name),
            cells.get((name, "exuviae"), NOTHING),
            cells.get((name, "adults"), NOTHING),
        )
        for name in (["observed", *names] if names else [])
    ]


def _formula(row: RichnessRow) -> str:
    """The estimator, Chao's three with their formulas."""
    name, _, variant = row.estimator.partition(", ")
    return row.estimate.variant.partition(", error")[0] if variant else name


def diversity_table(material: Material, findings: Findings) -> Table:
    """Effective numbers of taxa, of the community and at one coverage for all."""
    labels = site_labels(material)
    return declared(
        "diversity",
        "Effective numbers of taxa (Hill numbers), by visits or outings",
        findings.diversity,
        (
            Column("record", "record", lambda row: row.record),
            of_scope(labels),
            counted("samples", "samples", lambda row: row.samples),
            counted("order", "order", lambda row: row.diversity.order),
            measured("observed", "observed", lambda row: row.diversity.observed, 1),
            *interval(
                ("estimated", "estimatedLow", "estimatedHigh"),
                "estimated",
                lambda row: row.diversity.estimated,
                1,
            ),
            *interval(
                ("atCoverage", "atCoverageLow", "atCoverageHigh"),
                "at equal coverage",
                lambda row: row.diversity.alike,
                1,
            ),
            measured("coverage", "coverage", lambda row: row.diversity.coverage),
            *only_filed(samplesAtCoverage=lambda row: row.diversity.visits),
        ),
        shown=[r for r in findings.diversity if r.scope == "all" or r.samples >= FEWEST_VISITS],
        most=60,
        note=(
            "Order 0 counts all taxa alike, 1 the common ones, 2 the dominant ones (Chao et al."
            " 2014). Sites and years are to be compared at equal coverage, the least from 0.5 on"
            " that any with five samples reached; a row whose coverage stays below that of the"
            " others was searched too little to be set beside them."
        ),
        empty="Nothing found, nothing to compare.",
    )


def coverage_table(material: Material, findings: Findings) -> Table:
    """Observed taxa and coverage of each list by scope, with Chao2 beside."""
    labels = site_labels(material)
    chao = {
        (row.record, row.scope): with_interval(row.estimate, 1)
        for row in findings.richness
        if row.estimator == "Chao2, small-sample"
    }
    columns: tuple[Column[CoverageRow], ...] = (
        Column("record", "record", lambda row: row.record),
        of_scope(labels),
        counted("samples", "samples", lambda row: row.samples),
        counted("individuals", "individuals", lambda row: row.individuals),
        counted("observedTaxa", "taxa", lambda row: row.observed),
        *only_filed(individualsWithCoarserName=lambda row: row.left_out),
        only_shown("Chao2, small-sample", lambda r: chao[(r.record, r.scope)], numeric=True),
        measured("coverage", "coverage", lambda row: row.coverage.value),
        *interval(
            ("coverageBySamples", "coverageBySamplesLow", "coverageBySamplesHigh"),
            "by samples",
            lambda row: row.by_samples,
        ),
    )
    return declared(
        "coverage",
        "Sample coverage and richness by site and year",
        findings.coverage,
        columns,
        note=(
            "Coverage: estimated share of the individuals out there that belong to taxa found"
            " (Chao & Jost 2012); by samples: of the finds of visits or outings, with the interval"
            " of Esty 1983. That of individuals has none that holds, since skins of one visit go"
            " together. At most 40 exuviae of a site are called unreliable (Hardersen et al. 2017)."
        ),
        empty="Nothing found, nothing covered.",
    )


def curves_table(points: Sequence[CurvePoint]) -> Table:
    """Every point of the curves, for the file alone."""
    return declared(
        "curves",
        "Points of the curves",
        points,
        (
            Column("record", "record", lambda point: point.record),
            Column("by", "by", lambda point: point.by),
            Column("kind", "kind", lambda point: point.kind),
            Column("size", "size", lambda point: point.size),
            *interval(("expectedTaxa", "low95", "high95"), "", lambda point: point.estimate),
            *only_filed(standardError=lambda point: point.estimate.standard_error),
        ),
        shown=(),
    )


def _records(row: SeasonRow) -> str:
    records = str(row.season.records)
    return f"{records} ({sum(row.counts)})" if row.record == "exuviae" else records


def _median(row: SeasonRow) -> str:
    text = day_of_year(row.season.median)
    if row.median.low != row.median.low:
        return text
    return f"{text} ({day_of_year(row.median.low)} to {day_of_year(row.median.high)})"


SEASON_COLUMNS: tuple[Column[SeasonRow], ...] = (
    Column("scientificName", "taxon", lambda row: row.scientific_name),
    Column("record", "record", lambda row: row.record),
    Column("year", "year", lambda row: "all" if row.year is None else row.year),
    counted("records", "records", lambda row: row.season.records, _records),
    *only_filed(individuals=lambda row: sum(row.counts)),
    Column("firstDay", "first", lambda r: r.season.first, lambda r: day_of_year(r.season.first)),
    Column("p10Day", "10 %", lambda r: r.season.p10, lambda r: day_of_year(r.season.p10)),
    Column("medianDay", "median", lambda row: row.season.median, _median),
    *only_filed(medianDayLow=lambda row: row.median.low, medianDayHigh=lambda row: row.median.high),
    Column("p90Day", "90 %", lambda r: r.season.p90, lambda r: day_of_year(r.season.p90)),
    Column("lastDay", "last", lambda r: r.season.last, lambda r: day_of_year(r.season.last)),
    *interval(("em50Days", "em50Low", "em50High"), "", lambda row: row.em50),
    only_shown(
        "EM50, days",
        lambda r: with_interval(r.em50, 0) if r.em50 else NOTHING,
        numeric=True,
    ),
)


def seasons_table(seasons: Sequence[SeasonRow]) -> Table:
    """Quantiles of flight season and emergence."""
    return declared(
        "seasons",
        "Seasons in quantiles",
        seasons,
        SEASON_COLUMNS,
        most=80,
        note=(
            "Records: dated sightings, or collections with the number of exuviae. EM50: days from"
            " the first exuviae to half of the year's, over the whole survey; it is the pace of"
            " collecting as much as of emerging. Intervals by resampled days; with fewer than"
            f" {FEWEST_VISITS} days there is none. A season over the new year belongs to the year"
            " in which it began."
        ),
        empty="No named adult and no lot has a day.",
    )


def emergence_table(material: Material, findings: Findings) -> Table:
    """EM50 at single sites."""
    labels = site_labels(material)
    return declared(
        "em50-by-site",
        "EM50 by site, where a taxon was collected on two days or more",
        findings.emergence,
        (
            *of_site(labels),
            Column("scientificName", "taxon", lambda one: one.scientific_name),
            Column("year", "year", lambda one: one.year),
            counted("exuviae", "exuviae", lambda one: one.exuviae),
            counted("collections", "collections", lambda one: one.collections),
            *interval(("em50Days", "em50Low", "em50High"), "EM50, days", lambda one: one.em50, 0),
        ),
        empty="No taxon was collected at one site on two days of one year.",
    )


def agreement_tables(findings: Findings) -> tuple[Table, ...]:
    """Agreement per rank with raw agreement beside, and by pairs of determiners."""
    pairs = [
        (one.rank, sorted(names), kappa)
        for one in findings.agreement
        for names, kappa in sorted(one.cohen_kappa.items())
    ]
    return (
        declared(
            "agreement",
            "Agreement between determiners",
            [one for one in findings.agreement if one.units],
            (
                Column("rank", "rank", lambda one: one.rank),
                counted("sightings", "sightings", lambda one: one.units),
                *interval(
                    ("rawAgreement", "rawLow", "rawHigh"), "raw agreement", lambda one: one.raw
                ),
                measured("fleissKappa", "Fleiss' kappa", lambda one: one.fleiss_kappa),
                counted("fleissSightings", "of sightings", lambda one: one.fleiss_units),
                measured(
                    "krippendorffAlpha", "Krippendorff's alpha", lambda one: one.krippendorff_alpha
                ),
            ),
            note=(
                "Raw agreement is over pairs of determiners; its Wilson interval counts each"
                " sighting as one draw, however many named it. Kappa and alpha take off what chance"
                " would give, and fall when one name dominates however much people agree; read"
                " both. Fleiss' kappa needs equal numbers of determiners, so it rests on those"
                " sightings only that the commonest number of them named."
            ),
            empty="No sighting has been named by two determiners yet, so nothing can be compared.",
        ),
        declared(
            "agreement-of-pairs",
            "Cohen's kappa of each pair of determiners",
            pairs,
            (
                Column("rank", "rank", lambda pair: pair[0]),
                Column("first", "first", lambda pair: pair[1][0]),
                Column("second", "second", lambda pair: pair[1][1]),
                *interval(("kappa", "low95", "high95"), "kappa", lambda pair: pair[2]),
            ),
            empty="No two determiners share two sightings.",
        ),
    )


def nearness_table(findings: Findings) -> Table:
    """Are adults nearer to exuviae of their own taxon than chance?"""
    return declared(
        "nearness",
        "Distance from adults to the nearest exuviae of their own taxon",
        findings.nearness,
        (
            Column("rank", "names at", lambda one: one.rank),
            counted("adults", "adults", lambda one: one.adults),
            *only_filed(sitesWithExuviae=lambda one: one.sites),
            counted("waters", "waters", lambda one: one.test.units),
            measured("observedMeanMetres", "mean, m", lambda one: one.test.observed, 0),
            measured("expectedMeanMetres", "by chance, m", lambda one: one.test.expected, 0),
            measured("p", "p", lambda one: one.test.p, 3),
            *only_filed(
                permutations=lambda one: one.test.permutations, seed=lambda one: one.test.seed
            ),
        ),
        note=(
            "Whole waters exchange their lists of taxa, so places and effort stay as they were, and"
            " outings to one water stay together. p = (b + 1)/(B + 1), one-sided: nearer than"
            " chance. Says nothing of single taxa or waters."
        ),
    )


def _share(count: int, total: int) -> str:
    return f"{count} ({with_interval(wilson(count, total))})" if total else NOTHING


def _scenario(one: Effect) -> str:
    if (one.unknown, one.scale) == (1.0, 1.0):
        return "as stated"
    if one.scale == 1.0:
        return f"{one.unknown:g} times the unknown waters"
    return f"{one.scale:g} times the distances"


def sensitivity_table(findings: Findings) -> Table:
    """What other unknown waters and another reach of movement do to the shares."""
    return declared(
        "sensitivity",
        "What the shares rest on",
        findings.sensitivity,
        (
            *only_filed(
                unknownWatersFactor=lambda one: one.unknown, distanceFactor=lambda one: one.scale
            ),
            only_shown("with", _scenario),
            *only_filed(sightings=lambda one: one.sightings),
            measured("meanShareOfNone", "mean share of none", lambda one: one.mean_share_of_none),
            counted(
                "noneLeads",
                "none is likeliest",
                lambda one: one.none_leads,
                lambda one: _share(one.none_leads, one.sightings),
            ),
            counted(
                "likeliestChanged",
                "likeliest changes",
                lambda one: one.leading_changed,
                lambda one: _share(one.leading_changed, one.sightings),
            ),
        ),
        shown=[one for one in findings.sensitivity if one.sightings],
        empty="No sighting is matched yet.",
    )


def losses_table(losses: Sequence[Loss]) -> Table:
    """How many records were lost to what."""
    return declared(
        "losses",
        "Records lost to what",
        losses,
        (
            Column("stage", "stage", lambda one: one.stage),
            Column("reason", "reason", lambda one: one.reason),
            counted(
                "count", "count", lambda one: one.count, lambda one: f"{one.count} of {one.total}"
            ),
            *only_filed(total=lambda one: one.total),
            *interval(
                ("share", "shareLow", "shareHigh"),
                "share",
                lambda one: wilson(one.count, one.total),
            ),
        ),
        note="Shares with Wilson intervals. A record can be lost to several reasons.",
        empty="Nothing has been received or imported.",
    )
