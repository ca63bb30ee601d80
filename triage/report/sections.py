"""Puts the report together: its sections in reading order."""

from __future__ import annotations

from datetime import datetime

from triage.estimates.biotic_index import WARNING
from triage.exports.places import match_rows
from triage.matching.candidates import name_of_sighting
from triage.report import methods
from triage.report import tables_of_numbers as numbers
from triage.report import tables_of_sites as by_site
from triage.report.examples import ReadPhoto, examples, match_table
from triage.report.findings import Findings
from triage.report.material import Material
from triage.report.parts import Section, Table, number, table
from triage.report.plot_charts import evidence_plot, lists_plot
from triage.report.plot_curves import accumulation_plot, rarefaction_plot
from triage.report.plot_map import map_plot
from triage.report.plot_seasons import season_plot
from triage.report.samples import finest_names
from triage.report.wording import plural
from triage.standards.cautions import cautions


def sections(
    material: Material, findings: Findings, *, now: datetime, read_photo: ReadPhoto | None = None
) -> tuple[Section, ...]:
    """All sections; one without data says what is missing."""
    return (
        _summary(material, findings),
        _map(material, findings),
        _evidence(material, findings),
        _lists(material, findings),
        _absences(material, findings),
        _seasons(material, findings),
        _richness(material, findings),
        _matching(material, findings, read_photo),
        _where_next(material, findings),
        _agreement(findings),
        _measures(material, findings),
        _quality(material),
        _methods(material, findings, now),
    )


def _summary(material: Material, findings: Findings) -> Section:
    content = material.content
    named = [s for s in content.sightings if s.scientific_name]
    found = {e.location_id for e in findings.evidence if e.evidence == "exuviae"}
    exuviae = int(findings.exuviae.counts.sum()) + findings.exuviae.left_out
    taxa = finest_names(
        (name_of_sighting(material.checklist, s)[0] for s in named), material.checklist
    )
    sentences = [
        f"{plural(len(content.sightings), 'sighting')} of adults, {len(named)} of them named, of"
        f" {plural(len(taxa), 'taxon', 'taxa')};"
        f" {plural(exuviae, 'exuvia', 'exuviae')} of"
        f" {plural(len(findings.exuviae.taxa), 'taxon', 'taxa')} from"
        f" {plural(len(content.visits), 'visit')}, with finds at {len(found)} of"
        f" {plural(len(content.sites), 'site')}.",
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
            f"{plural(len(findings.priorities), 'place')} worth a search for exuviae; the first is"
            f" {first}."
        )
    missing = []
    if not content.sites:
        missing.append("sites ('triage sites')")
    if not content.visits:
        missing.append("visits ('triage visits')")
    if not content.lots:
        missing.append("exuviae lots ('triage lots')")
    if not content.sightings:
        missing.append("sightings of adults ('triage receive')")
    elif not named:
        missing.append("determinations ('triage determine')")
    if not content.taxa:
        missing.append("a checklist ('triage checklist')")
    if missing:
        sentences.append(f"Still missing: {', '.join(missing)}. Sections that need them say so.")
    if material.withheld:
        sentences.append(
            "Not part of this report, as in an export: " + "; ".join(material.withheld) + "."
        )
    return Section(anchor="summary", title="In short", sentences=tuple(sentences))


def _map(material: Material, findings: Findings) -> Section:
    plot = map_plot(material, findings)
    return Section(
        anchor="map",
        title="Map",
        sentences=() if plot else ("No site and no sighting has a place that may be shown.",),
        plots=(plot,) if plot else (),
    )


def _evidence(material: Material, findings: Findings) -> Section:
    plot = evidence_plot(material, findings.evidence)
    return Section(
        anchor="evidence",
        title="What breeds where",
        sentences=(
            "An exuvia is proof that its taxon emerged at a site; everything else is a hint of"
            f" falling strength. Classes: {material.settings.scheme.name}"
            f" ({material.settings.scheme.source.rstrip('.')}).",
        ),
        plots=(plot,) if plot else (),
        tables=(by_site.evidence_table(material, findings.evidence),),
    )


def _lists(material: Material, findings: Findings) -> Section:
    plot = lists_plot(material, findings.lists)
    return Section(
        anchor="lists",
        title="Adults against exuviae",
        sentences=(
            "The disagreement of the two lists is the finding: adults alone may be visitors,"
            " exuviae alone were missed in flight.",
        ),
        plots=(plot,) if plot else (),
        tables=(by_site.lists_table(material, findings.lists), numbers.nearness_table(findings)),
    )


def _absences(material: Material, findings: Findings) -> Section:
    return Section(
        anchor="absences",
        title="Not found is not absent",
        sentences=methods.detection_sentences(findings.detection),
        tables=(by_site.absences_table(material, findings),),
    )


def _seasons(material: Material, findings: Findings) -> Section:
    years = sorted({row.year for row in findings.seasons if row.year is not None})
    shown = [None, *years] if len(years) > 1 else list(years)
    plots = [season_plot(findings.seasons, year=year) for year in shown]
    return Section(
        anchor="seasons",
        title="Flight season and emergence",
        sentences=(
            "Adults are met at the water from one to three weeks after the first of them emerged"
            " there and for weeks after the last. Species that winter as adults fly in spring from"
            " the year before: their season runs over the new year and is counted as one.",
        ),
        plots=tuple(plot for plot in plots if plot),
        tables=(
            numbers.seasons_table(findings.seasons),
            numbers.emergence_table(material, findings),
        ),
    )


def _richness(material: Material, findings: Findings) -> Section:
    plots = (accumulation_plot(findings.curves), rarefaction_plot(findings.curves))
    left = findings.exuviae.left_out, findings.adults.left_out
    sentences = [
        "Names are counted to the finest: a genus beside one of its species is not a further taxon."
    ]
    if any(left):
        sentences.append(
            f"So {plural(left[0], 'exuvia', 'exuviae')} and {plural(left[1], 'sighting')} with only"
            " such a coarser name are left out here."
        )
    return Section(
        anchor="richness",
        title="How many taxa",
        sentences=tuple(sentences),
        plots=tuple(plot for plot in plots if plot),
        tables=(
            numbers.richness_table(findings),
            numbers.coverage_table(material, findings),
            numbers.diversity_table(material, findings),
            numbers.curves_table(findings.curves),
        ),
    )


def _matching(material: Material, findings: Findings, read_photo: ReadPhoto | None) -> Section:
    matched = match_rows(material.content, material.release)
    whole = match_table(material, matched)
    chosen = examples(material, matched, read_photo=read_photo)
    sentences = [
        "Weight of a water: the chance that the taxon emerges there by all searches, times how"
        " plentifully, times the density of movement from its shore; the shares of the known sites"
        " and of none of them sum to 1. In brackets what they are with movement half and twice as"
        " far and a fifth to five times the unknown waters. Days run from the collection of the"
        " skins to the sighting, and are negative when the"
        " skins were collected later.",
    ]
    if not material.internal:
        sentences.append(
            "Distances are between the released places and shares are rounded to a tenth: finer"
            " ones would give the held places back. Where one explanation of a sighting is hidden,"
            " all of its shares are withheld."
        )
        if chosen and not any(one.photos for one in chosen):
            sentences.append(
                "No photo is shown: none of these is both licensed and cleared for publication."
            )
    return Section(
        anchor="matching",
        title="Which water an adult came from",
        sentences=tuple(sentences),
        tables=(numbers.sensitivity_table(findings), whole),
        examples=tuple(chosen),
        after=(
            "The density of waters that nobody has searched and the scale of movement are stated"
            " settings (unknown_sites_per_square_kilometre, movement_scale).",
        ),
    )


def _where_next(material: Material, findings: Findings) -> Section:
    return Section(
        anchor="next",
        title="Where to look next",
        sentences=(
            "Gaps (adults with no known site in reach), known sites whose adults speak of a taxon"
            " not yet found there, and sites visited too seldom to say what does not emerge."
            " Each has a sheet for volunteers in the folder search-sheets. The weight adds up the"
            " outings that speak for a place, however many photos each gave; tenerals and pairs"
            " count more.",
        ),
        tables=(by_site.priorities_table(material, findings.priorities),),
        cautions=cautions() if findings.priorities else (),
    )


def _agreement(findings: Findings) -> Section:
    return Section(
        anchor="agreement",
        title="How far determiners agree",
        sentences=(
            "The newest answer of each determiner counts. A name only to a coarser rank, and"
            " 'cannot tell', are answers of their own.",
        ),
        tables=numbers.agreement_tables(findings),
    )


def _measures(material: Material, findings: Findings) -> Section:
    return Section(
        anchor="measures",
        title="Biotic index and values measured at sites",
        sentences=(
            "The index adds up the scores of the taxa found as exuviae; taxa without a score are"
            " counted apart. " + WARNING,
            "Mercury and other residues are measured in larvae: exuviae are not the larvae that"
            " were analysed, so such values are context of a site and no property of its skins.",
        )
        if findings.values or findings.indices
        else ("Neither scores nor site values are imported.",),
        tables=by_site.measures_tables(material, findings)
        if findings.values or findings.indices
        else (),
    )


def _quality(material: Material) -> Section:
    return Section(
        anchor="quality",
        title="Data quality",
        sentences=("How many records were lost to what on the way from the mail to the figures.",),
        tables=(numbers.losses_table(material.losses),),
        after=tuple(
            ["Not part of this report, as in an export: " + "; ".join(material.withheld) + "."]
            if material.withheld
            else []
        ),
    )


def _methods(material: Material, findings: Findings, now: datetime) -> Section:
    settings = material.settings
    return Section(
        anchor="methods",
        title="Methods, limits and settings",
        sentences=("What the numbers cannot show:", *methods.CANNOT_SHOW),
        tables=(_settings_table(material, findings, now),),
        after=(
            "The same numbers come from triage.report.findings.find, and from triage.estimates and"
            f" triage.matching one by one (docs/analyst.md). Seed {settings.seed},"
            f" {settings.rounds} resamples, {settings.permutations} permutations: the same data and"
            " seed give the same report.",
            *methods.SOURCES,
        ),
    )


def _settings_table(material: Material, findings: Findings, now: datetime) -> Table:
    settings, survey = material.settings, material.content.survey
    rows = [
        ("made", now.strftime("%Y-%m-%d %H:%M UTC")),
        ("by", survey.version),
        ("seed", str(settings.seed)),
        ("resamples", str(settings.rounds)),
        ("permutations", str(settings.permutations)),
        ("detection used", f"{number(findings.detection.value)} a pass"),
        *material.stated,
    ]
    return table("settings", "Version, settings and seed", ("setting", "value"), rows, most=100)


def every_table(made: tuple[Section, ...]) -> list[Table]:
    """All tables of the report, each once, for the files."""
    found = {one.name: one for section in made for one in section.tables}
    return list(found.values())
