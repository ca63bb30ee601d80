"""The report's tables of the whole survey: richness, seasons, agreement, losses."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

from triage.estimates.interval import FEWEST_VISITS, wilson
from triage.matching import Effect
from triage.report.columns import declared, of_scope, of_site
from triage.report.findings import Findings
from triage.report.material import Loss, Material
from triage.report.parts import NOTHING, Table, number, with_interval
from triage.report.richness_tables import CurvePoint, RichnessRow
from triage.report.seasons import SeasonRow
from triage.report.wording import day_of_year


def richness_table(findings: Findings) -> Table:
    """Every estimator by name; the whole survey is shown, sites and years are in the file."""
    read = declared("estimators", _estimators(findings))
    filed = declared("richness", findings.richness)
    return replace(filed, headings=read.headings, shown=read.shown, numeric=read.numeric)


def _estimators(findings: Findings) -> list[dict[str, str]]:
    """One line an estimator, exuviae and adults beside each other, what was observed first."""
    whole = [row for row in findings.richness if row.scope == "all"]
    cells = {(row.estimator, row.record): with_interval(row.estimate, 1) for row in whole}
    formula = {row.estimator: _formula(row) for row in whole}
    cells |= {("observed", row.record): str(row.observed) for row in whole}
    names = dict.fromkeys(row.estimator for row in findings.richness)
    return [
        {
            "name": formula.get(name, name),
            **{record: cells.get((name, record), NOTHING) for record in ("exuviae", "adults")},
        }
        for name in (["observed", *names] if names else [])
    ]


def _formula(row: RichnessRow) -> str:
    """The estimator, Chao's three with their formulas."""
    name, _, variant = row.estimator.partition(", ")
    return row.estimate.variant.partition(", error")[0] if variant else name


def diversity_table(material: Material, findings: Findings) -> Table:
    """Effective numbers of taxa, of the community and at one coverage for all."""
    shown = [r for r in findings.diversity if r.scope == "all" or r.samples >= FEWEST_VISITS]
    return declared("diversity", findings.diversity, shown=shown, says=of_scope(material))


def coverage_table(material: Material, findings: Findings) -> Table:
    """Observed taxa and coverage of each list by scope, with Chao2 beside."""
    chao = {
        (row.record, row.scope): with_interval(row.estimate, 1)
        for row in findings.richness
        if row.estimator == "Chao2, small-sample"
    }
    return declared(
        "coverage",
        findings.coverage,
        says={**of_scope(material), "chao2": lambda row: chao[row.record, row.scope]},
    )


def curves_table(points: Sequence[CurvePoint]) -> Table:
    """Every point of the curves, for the file alone."""
    return declared("curves", points, shown=())


def seasons_table(seasons: Sequence[SeasonRow]) -> Table:
    """Quantiles of flight season and emergence."""
    return declared(
        "seasons",
        seasons,
        says={
            "year_or_all": lambda row: "all" if row.year is None else row.year,
            "individuals": lambda row: sum(row.counts),
            "records": _records,
            "median_with_days": _median,
        },
        fewest_visits=FEWEST_VISITS,
    )


def _records(row: SeasonRow) -> str:
    records = str(row.season.records)
    return f"{records} ({sum(row.counts)})" if row.record == "exuviae" else records


def _median(row: SeasonRow) -> str:
    text = day_of_year(row.season.median)
    if row.median.low != row.median.low:
        return text
    return f"{text} ({day_of_year(row.median.low)} to {day_of_year(row.median.high)})"


def emergence_table(material: Material, findings: Findings) -> Table:
    """EM50 at single sites."""
    return declared("em50-by-site", findings.emergence, says=of_site(material))


def agreement_tables(findings: Findings) -> tuple[Table, ...]:
    """Agreement per rank with raw agreement beside, and by pairs of determiners."""
    pairs = [
        {"rank": one.rank, "first": min(names), "second": max(names), "kappa": kappa}
        for one in findings.agreement
        for names, kappa in sorted(one.cohen_kappa.items())
    ]
    several = [one for one in findings.agreement if one.units]
    return declared("agreement", several), declared("agreement-of-pairs", pairs)


def nearness_table(findings: Findings) -> Table:
    """Are adults nearer to exuviae of their own taxon than chance?"""
    return declared("nearness", findings.nearness)


def sensitivity_table(findings: Findings) -> Table:
    """What other unknown waters and another reach of movement do to the shares."""

    def share(count: int, total: int) -> str:
        return f"{count} of {total}, {with_interval(wilson(count, total))}"

    return declared(
        "sensitivity",
        findings.sensitivity,
        shown=[one for one in findings.sensitivity if one.sightings],
        says={
            "scenario": _scenario,
            "share_of_none": lambda one: share(one.none_leads, one.sightings),
            "share_changed": lambda one: share(one.leading_changed, one.sightings),
        },
    )


def _scenario(one: Effect) -> str:
    if (one.unknown, one.scale) == (1.0, 1.0):
        return "as stated"
    if one.scale == 1.0:
        return f"{one.unknown:g} times the unknown waters"
    return f"{one.scale:g} times the distances"


def losses_table(losses: Sequence[Loss]) -> Table:
    """How many records were lost to what."""
    return declared(
        "losses",
        losses,
        says={
            "of_total": lambda one: f"{one.count} of {one.total}",
            "share": lambda one: wilson(one.count, one.total),
        },
    )


def settings_table(material: Material, findings: Findings, now: datetime) -> Table:
    """Everything that the figures hang on beside the records."""
    settings = material.settings
    stated = (
        ("made", now.strftime("%Y-%m-%d %H:%M UTC")),
        ("by", material.content.survey.version),
        ("seed", str(settings.seed)),
        ("resamples", str(settings.rounds)),
        ("permutations", str(settings.permutations)),
        ("detection used", f"{number(findings.detection.value)} a pass"),
        *material.stated,
    )
    return declared("settings", [{"setting": name, "value": value} for name, value in stated])
