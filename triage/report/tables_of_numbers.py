"""Findings of the whole survey in, their tables out: richness, seasons, agreement, losses."""

from __future__ import annotations

from collections.abc import Sequence

from triage.estimates.interval import wilson
from triage.report.findings import Findings
from triage.report.material import Loss, Material
from triage.report.parts import NOTHING, Table, number, raw, table, with_interval
from triage.report.plot_seasons import COLUMNS as SEASON_COLUMNS
from triage.report.plot_seasons import median_text, season_row
from triage.report.wording import day_of_year, site_labels

RICHNESS_COLUMNS = (
    *("record", "scope", "samples", "individuals", "observedTaxa", "estimator", "estimate"),
    *("low95", "high95", "standardError", "variant"),
)


def richness_table(findings: Findings) -> Table:
    """Every estimator by name; the whole survey is shown, sites and years are in the file."""
    rows = [
        (
            row.record,
            row.scope,
            raw(row.samples),
            raw(row.individuals),
            raw(row.observed),
            row.estimator,
            raw(row.estimate.value),
            raw(row.estimate.low),
            raw(row.estimate.high),
            raw(row.estimate.standard_error),
            row.estimate.variant,
        )
        for row in findings.richness
    ]
    whole = {
        (row.record, row.estimator): row.estimate for row in findings.richness if row.scope == "all"
    }
    names = list(dict.fromkeys(row.estimator for row in findings.richness))
    shown = [
        (
            name,
            *(
                with_interval(whole[(record, name)], 1) if (record, name) in whole else NOTHING
                for record in ("exuviae", "adults")
            ),
        )
        for name in names
    ]
    observed = {row.record: str(row.observed) for row in findings.richness if row.scope == "all"}
    if shown:
        shown.insert(
            0, ("observed", observed.get("exuviae", NOTHING), observed.get("adults", NOTHING))
        )
    return table(
        "richness",
        "How many taxa there are, the whole survey",
        RICHNESS_COLUMNS,
        rows,
        headings=("estimator", "exuviae", "adults"),
        shown=shown,
        numeric=(1, 2),
        note=(
            "95 % intervals. The three variants of Chao's estimator give three answers on the same"
            " data; quote the one you use by its name. Abundance-based ones (Chao1, ACE) count"
            " skins, or sightings; the others count visits, or outings. Where no taxon was met only"
            " once, Chao1 and ACE see nothing missing and their interval closes on what was"
            " observed: skins of one visit are no independent draws, so trust the others there."
        ),
        empty="No visit gave exuviae and no adult is named yet.",
    )


def coverage_table(material: Material, findings: Findings) -> Table:
    """Observed taxa and coverage of each list by scope, with Chao2 beside."""
    labels = site_labels(material)
    chao = {
        (row.record, row.scope): row.estimate
        for row in findings.richness
        if row.estimator == "Chao2, small-sample"
    }
    rows = [
        (
            row.record,
            row.scope,
            raw(row.samples),
            raw(row.individuals),
            raw(row.observed),
            raw(row.left_out),
            raw(row.coverage.value),
            raw(row.coverage.low),
            raw(row.coverage.high),
            raw(row.by_samples.value),
            raw(row.by_samples.low),
            raw(row.by_samples.high),
        )
        for row in findings.coverage
    ]
    shown = [
        (
            row.record,
            labels.get(row.scope, "whole survey" if row.scope == "all" else row.scope),
            str(row.samples),
            str(row.individuals),
            str(row.observed),
            with_interval(chao[(row.record, row.scope)], 1),
            with_interval(row.coverage),
            with_interval(row.by_samples),
        )
        for row in findings.coverage
    ]
    return table(
        "coverage",
        "Sample coverage and richness by site and year",
        (
            *("record", "scope", "samples", "individuals", "observedTaxa"),
            *("individualsWithCoarserName", "coverage", "coverageLow", "coverageHigh"),
            *("coverageBySamples", "coverageBySamplesLow", "coverageBySamplesHigh"),
        ),
        rows,
        headings=(
            *("record", "where or when", "samples", "individuals", "taxa"),
            *("Chao2, small-sample", "coverage", "by samples"),
        ),
        shown=shown,
        numeric=(2, 3, 4, 5, 6, 7),
        note=(
            "Coverage: estimated share of the individuals out there that belong to taxa found"
            " (Chao & Jost 2012); by samples: of the finds of visits or outings. A site with one"
            " sample has no interval; at most 40 exuviae of a site are called unreliable (Hardersen"
            " et al. 2017)."
        ),
        empty="Nothing found, nothing covered.",
    )


def seasons_table(findings: Findings) -> Table:
    """Quantiles of flight season and emergence."""
    rows = [season_row(row) for row in findings.seasons]
    shown = [
        (
            row.scientific_name,
            row.record,
            "all" if row.year is None else str(row.year),
            f"{row.season.records} ({sum(row.counts)})"
            if row.record == "exuviae"
            else str(row.season.records),
            day_of_year(row.season.first),
            day_of_year(row.season.p10),
            median_text(row),
            day_of_year(row.season.p90),
            day_of_year(row.season.last),
            with_interval(row.em50, 0) if row.em50 and row.season.records > 1 else NOTHING,
        )
        for row in findings.seasons
    ]
    return table(
        "seasons",
        "Seasons in quantiles",
        SEASON_COLUMNS,
        rows,
        headings=(
            *("taxon", "record", "year", "records", "first", "10 %", "median", "90 %", "last"),
            "EM50, days",
        ),
        shown=shown,
        numeric=(3, 9),
        most=80,
        note=(
            "Records: dated sightings, or collections with the number of exuviae. EM50: days from"
            " the first exuviae to half of the year's, over the whole survey; it is the pace of"
            " collecting as much as of emerging, and is left out for a single collection."
        ),
        empty="No named adult and no lot has a day.",
    )


def emergence_table(material: Material, findings: Findings) -> Table:
    """EM50 at single sites."""
    labels = site_labels(material)
    rows = [
        (
            one.location_id,
            labels.get(one.location_id, one.location_id),
            one.scientific_name,
            str(one.year),
            raw(one.exuviae),
            raw(one.collections),
            raw(one.em50.value),
            raw(one.em50.low),
            raw(one.em50.high),
        )
        for one in findings.emergence
    ]
    return table(
        "em50-by-site",
        "EM50 by site, where a taxon was collected on two days or more",
        (
            *("locationID", "locality", "scientificName", "year", "exuviae", "collections"),
            *("em50Days", "em50Low", "em50High"),
        ),
        rows,
        headings=("site", "taxon", "year", "exuviae", "collections", "EM50, days"),
        shown=[
            (*row[1:6], with_interval(one.em50, 0))
            for row, one in zip(rows, findings.emergence, strict=True)
        ],
        numeric=(3, 4, 5),
        empty="No taxon was collected at one site on two days of one year.",
    )


def agreement_tables(findings: Findings) -> tuple[Table, ...]:
    """Agreement per rank with raw agreement beside, and by pairs of determiners."""
    rows = [
        (
            one.rank,
            raw(one.units),
            raw(one.raw.value),
            raw(one.raw.low),
            raw(one.raw.high),
            raw(one.fleiss_kappa),
            raw(one.krippendorff_alpha),
        )
        for one in findings.agreement
        if one.units
    ]
    pairs = [
        (one.rank, *sorted(names), raw(kappa.value), raw(kappa.low), raw(kappa.high))
        for one in findings.agreement
        for names, kappa in sorted(one.cohen_kappa.items())
    ]
    return (
        table(
            "agreement",
            "Agreement between determiners",
            (
                *("rank", "sightings", "rawAgreement", "rawLow", "rawHigh", "fleissKappa"),
                "krippendorffAlpha",
            ),
            rows,
            headings=(
                "rank",
                "sightings",
                "raw agreement",
                "Fleiss' kappa",
                "Krippendorff's alpha",
            ),
            shown=[
                (
                    one.rank,
                    str(one.units),
                    with_interval(one.raw),
                    number(one.fleiss_kappa),
                    number(one.krippendorff_alpha),
                )
                for one in findings.agreement
                if one.units
            ],
            numeric=(1, 2, 3, 4),
            note=(
                "Raw agreement is over pairs of determiners, with the Wilson interval. Kappa and"
                " alpha take off what chance would give, and fall when one name dominates however"
                " much people agree; read both."
            ),
            empty="No sighting has been named by two determiners yet, so nothing can be compared.",
        ),
        table(
            "agreement-of-pairs",
            "Cohen's kappa of each pair of determiners",
            ("rank", "first", "second", "kappa", "low95", "high95"),
            pairs,
            headings=("rank", "first", "second", "kappa"),
            shown=[
                (one.rank, *sorted(names), with_interval(kappa))
                for one in findings.agreement
                for names, kappa in sorted(one.cohen_kappa.items())
            ],
            numeric=(3,),
            empty="No two determiners share two sightings.",
        ),
    )


def nearness_table(findings: Findings) -> Table:
    """Are adults nearer to exuviae of their own taxon than chance?"""
    rows = [
        (
            one.rank,
            raw(one.adults),
            raw(one.sites),
            raw(one.test.units),
            raw(one.test.observed),
            raw(one.test.expected),
            raw(one.test.p),
            raw(one.test.permutations),
            raw(one.test.seed),
        )
        for one in findings.nearness
    ]
    return table(
        "nearness",
        "Distance from adults to the nearest exuviae of their own taxon",
        (
            *("rank", "adults", "sitesWithExuviae", "outings", "observedMeanMetres"),
            *("expectedMeanMetres", "p", "permutations", "seed"),
        ),
        rows,
        headings=("names at", "adults", "outings", "mean, m", "by chance, m", "p"),
        shown=[
            (
                one.rank,
                str(one.adults),
                str(one.test.units),
                number(one.test.observed, 0),
                number(one.test.expected, 0),
                number(one.test.p, 3),
            )
            for one in findings.nearness
        ],
        numeric=(1, 2, 3, 4, 5),
        note=(
            "Whole outings exchange their lists of taxa, so places and effort stay as they were."
            " p = (b + 1)/(B + 1), one-sided: nearer than chance."
        ),
    )


def sensitivity_table(findings: Findings) -> Table:
    """What the weight of 'none of the known sites' does at half and at double."""
    rows = [
        (
            raw(one.factor),
            raw(one.sightings),
            raw(one.mean_share_of_none),
            raw(one.none_leads),
            raw(one.leading_changed),
        )
        for one in findings.sensitivity
    ]

    def share(count: int, total: int) -> str:
        return f"{count} ({with_interval(wilson(count, total))})" if total else NOTHING

    return table(
        "sensitivity",
        "Effect of the density of unknown sites",
        ("factor", "sightings", "meanShareOfNone", "noneLeads", "likeliestChanged"),
        rows,
        headings=("density", "mean share of none", "none is likeliest", "likeliest changes"),
        shown=[
            (
                "as stated" if one.factor == 1 else f"{one.factor:g} times",
                number(one.mean_share_of_none),
                share(one.none_leads, one.sightings),
                NOTHING if one.factor == 1 else share(one.leading_changed, one.sightings),
            )
            for one in findings.sensitivity
            if one.sightings
        ],
        numeric=(1, 2, 3),
        empty="No sighting is matched yet.",
    )


def losses_table(losses: Sequence[Loss]) -> Table:
    """How many records were lost to what."""
    rows = [
        (
            one.stage,
            one.reason,
            raw(one.count),
            raw(one.total),
            *(
                raw(value)
                for found in [wilson(one.count, one.total)]
                for value in (found.value, found.low, found.high)
            ),
        )
        for one in losses
    ]
    return table(
        "losses",
        "Records lost to what",
        ("stage", "reason", "count", "total", "share", "shareLow", "shareHigh"),
        rows,
        headings=("stage", "reason", "count", "share"),
        shown=[
            (
                one.stage,
                one.reason,
                f"{one.count} of {one.total}",
                with_interval(wilson(one.count, one.total)) if one.total else NOTHING,
            )
            for one in losses
        ],
        numeric=(2, 3),
        note="Shares with Wilson intervals. A record can be lost to several reasons.",
        empty="Nothing has been received or imported.",
    )
