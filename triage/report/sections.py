"""Puts the report together: its sections in reading order."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime

from triage.estimates.biotic_index import WARNING
from triage.exports.places import match_rows
from triage.matching.candidates import name_of_sighting
from triage.report import tables_of_numbers as numbers
from triage.report import tables_of_sites as by_site
from triage.report.examples import ReadPhoto, examples, match_table
from triage.report.findings import Findings
from triage.report.material import Material
from triage.report.methods import detection_sentences
from triage.report.parts import Example, Plot, Section, Table
from triage.report.plot_charts import evidence_plot, lists_plot
from triage.report.plot_curves import curves_plot
from triage.report.plot_map import map_plot
from triage.report.plot_seasons import season_plot
from triage.report.samples import finest_names
from triage.report.wording import written
from triage.standards.cautions import cautions
from triage.standards.counting import counted


def sections(
    material: Material, findings: Findings, *, now: datetime, read_photo: ReadPhoto | None = None
) -> tuple[Section, ...]:
    """All sections; one without data says what is missing."""
    return (
        _section("summary", more=_summary(material, findings)),
        _map(material, findings),
        _section(
            "evidence",
            plots=[evidence_plot(material, findings.evidence)],
            tables=[by_site.evidence_table(material, findings.evidence)],
            scheme=material.settings.scheme.name,
            source=material.settings.scheme.source.rstrip("."),
        ),
        _section(
            "lists",
            plots=[lists_plot(material, findings.lists)],
            tables=[
                by_site.lists_table(material, findings.lists),
                numbers.nearness_table(findings),
            ],
        ),
        _section(
            "absences",
            more=detection_sentences(findings.detection),
            tables=[by_site.absences_table(material, findings)],
        ),
        _seasons(material, findings),
        _richness(material, findings),
        _matching(material, findings, read_photo),
        _section(
            "next",
            tables=[by_site.priorities_table(material, findings.priorities)],
            cautioned=bool(findings.priorities),
        ),
        _section("agreement", tables=numbers.agreement_tables(findings)),
        _measures(material, findings),
        _section(
            "quality", tables=[numbers.losses_table(material.losses)], after=_kept_back(material)
        ),
        _section(
            "methods",
            tables=[numbers.settings_table(material, findings, now)],
            seed=material.settings.seed,
            rounds=material.settings.rounds,
            permutations=material.settings.permutations,
        ),
    )


def _section(
    anchor: str,
    *,
    more: Iterable[str] = (),
    plots: Iterable[Plot | None] = (),
    tables: Sequence[Table] = (),
    chosen: Sequence[Example] = (),
    cautioned: bool = False,
    after: Iterable[str] = (),
    **told: object,
) -> Section:
    """A section with its written words, ``told`` in them, and those that hang on the survey."""
    words = written("words.toml")["sections"][anchor]
    return Section(
        anchor=anchor,
        title=words["title"],
        sentences=(*(text.format(**told) for text in words.get("sentences", ())), *more),
        plots=tuple(plot for plot in plots if plot),
        tables=tuple(tables),
        examples=tuple(chosen),
        cautions=cautions() if cautioned else (),
        after=(*(text.format(**told) for text in words.get("after", ())), *after),
    )


def _summary(material: Material, findings: Findings) -> list[str]:
    content = material.content
    named = [s for s in content.sightings if s.scientific_name and not s.waits]
    waiting = sum(s.waits for s in content.sightings)
    found = {e.location_id for e in findings.evidence if e.evidence == "exuviae"}
    exuviae = int(findings.exuviae.counts.sum()) + findings.exuviae.left_out
    taxa = finest_names(
        (name_of_sighting(material.checklist, s)[0] for s in named), material.checklist
    )
    sentences = [
        f"{counted(len(content.sightings), 'sighting')} of adults, {len(named)} of them named, of"
        f" {counted(len(taxa), 'taxon', 'taxa')}"
        f"{f', {waiting} waiting for a second look' if waiting else ''};"
        f" {counted(exuviae, 'exuvia', 'exuviae')} of"
        f" {counted(len(findings.exuviae.taxa), 'taxon', 'taxa')} from"
        f" {counted(len(content.visits), 'visit')}, with finds at {len(found)} of"
        f" {counted(len(content.sites), 'site')}.",
    ]
    both = next(
        (one for one in findings.lists if not one.location_id and one.rank == "species"), None
    )
    if both is not None and both.comparison.jaccard.value == both.comparison.jaccard.value:
        shared = both.comparison
        sentences.append(
            f"At the sites {len(shared.shared)} species were met both as adults and as exuviae,"
            f" {len(shared.only_first)} only as adults and {len(shared.only_second)} only as"
            " exuviae."
        )
    if findings.priorities:
        first = by_site.place_text(material, findings.priorities[0])
        sentences.append(
            f"{counted(len(findings.priorities), 'place')} worth a search for exuviae; the first is"
            f" {first}."
        )
    wanted = (
        (content.sites, "sites ('triage sites')"),
        (content.visits, "visits ('triage visits')"),
        (content.lots, "exuviae lots ('triage lots')"),
        (content.sightings, "sightings of adults ('triage receive')"),
        (named or not content.sightings, "determinations ('triage determine')"),
        (content.taxa, "a checklist ('triage checklist')"),
    )
    missing = [what for there, what in wanted if not there]
    if missing:
        sentences.append(f"Still missing: {', '.join(missing)}. Sections that need them say so.")
    return [*sentences, *_kept_back(material)]


def _kept_back(material: Material) -> list[str]:
    if not material.withheld:
        return []
    return ["Not part of this report, as in an export: " + "; ".join(material.withheld) + "."]


def _map(material: Material, findings: Findings) -> Section:
    plot = map_plot(material, findings)
    nothing = "No site and no sighting has a place that may be shown."
    return _section("map", plots=[plot], more=() if plot else [nothing])


def _seasons(material: Material, findings: Findings) -> Section:
    years = sorted({row.year for row in findings.seasons if row.year is not None})
    shown = [None, *years] if len(years) > 1 else list(years)
    return _section(
        "seasons",
        plots=[season_plot(findings.seasons, year=year) for year in shown],
        tables=[
            numbers.seasons_table(findings.seasons),
            numbers.emergence_table(material, findings),
        ],
    )


def _richness(material: Material, findings: Findings) -> Section:
    left = findings.exuviae.left_out, findings.adults.left_out
    coarser = (
        f"So {counted(left[0], 'exuvia', 'exuviae')} and {counted(left[1], 'sighting')} with only"
        " such a coarser name are left out here."
    )
    return _section(
        "richness",
        more=[coarser] if any(left) else (),
        plots=[
            curves_plot(findings.curves, by="samples", name="accumulation"),
            curves_plot(findings.curves, by="individuals", name="rarefaction"),
        ],
        tables=[
            numbers.richness_table(findings),
            numbers.coverage_table(material, findings),
            numbers.diversity_table(material, findings),
            numbers.curves_table(findings.curves),
        ],
    )


def _matching(material: Material, findings: Findings, read_photo: ReadPhoto | None) -> Section:
    matched = match_rows(material.content, material.release)
    chosen = examples(material, matched, read_photo=read_photo)
    words, more = written("words.toml")["sections"]["matching"], []
    if not material.internal:
        more.append(words["released"])
        if chosen and not any(one.photos for one in chosen):
            more.append(words["without_photos"])
    return _section(
        "matching",
        more=more,
        tables=[numbers.sensitivity_table(findings), match_table(material, matched)],
        chosen=chosen,
    )


def _measures(material: Material, findings: Findings) -> Section:
    words = written("words.toml")["sections"]["measures"]
    if not (findings.values or findings.indices):
        return _section("measures", more=words["missing"])
    return _section(
        "measures",
        more=[text.format(warning=WARNING) for text in words["imported"]],
        tables=by_site.measures_tables(material, findings),
    )


def every_table(made: tuple[Section, ...]) -> list[Table]:
    """All tables of the report, each once, for the files."""
    found = {one.name: one for section in made for one in section.tables}
    return list(found.values())
