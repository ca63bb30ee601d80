"""The analyst's figures: evidence, where to search next, the report, scores, values at sites."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from triage.cli import say
from triage.cli.app import ByOption, JsonOption, SurveyOption, app, now, opened
from triage.cli.evidence import Table, imported
from triage.cli.intake import HERE

InternalOption = Annotated[
    bool,
    typer.Option("--internal", help="Exact places and names, for the survey's own eyes only."),
]
SchemeOption = Annotated[
    str, typer.Option("--classes", help="Published classes of evidence: British, or Central.")
]
CsvOption = Annotated[
    Path | None, typer.Option("--csv", help="Write the table here instead.", dir_okay=False)
]


@app.command()
def scores(
    file: Table, survey: SurveyOption = HERE, by: ByOption = "analyst", json: JsonOption = False
) -> None:
    """Import a biotic index's scores of taxa. Example: triage scores scores.csv."""
    imported(survey, file, "scores", by, json)


@app.command("site-values")
def site_values(
    file: Table, survey: SurveyOption = HERE, by: ByOption = "analyst", json: JsonOption = False
) -> None:
    """Import values measured at sites. Example: triage site-values water.csv."""
    from triage.pipeline import analysis, tables

    with opened(survey) as here:
        outcome = tables.import_table(here, "site-values", file, by=by, now=now())
        found = analysis.site_correlations(here)
    if json:
        say.as_json({"import": outcome, "correlations": found})
        return
    say.import_outcome(outcome)
    if found:
        say.line()
        say.table(*analysis.correlation_rows(found))
        say.line(found[0].correlation.warning)


@app.command()
def evidence(
    survey: SurveyOption = HERE,
    csv: CsvOption = None,
    classes: SchemeOption = "British",
    internal: InternalOption = False,
    json: JsonOption = False,
) -> None:
    """Show what breeds where: sites by taxa, with the evidence. Example: triage evidence."""
    from triage.pipeline import analysis

    with opened(survey) as here:
        found = analysis.evidence_table(here, internal=internal, scheme=classes)
    if found.note:
        say.note(found.note)
    if json:
        say.as_json(found.records())
    elif csv is not None:
        analysis.write_csv(found, csv)
        say.line(f"{csv}: {len(found.rows)} row(s)")
    elif found.shown:
        say.table(found.headings, found.shown)
    else:
        say.line(found.empty)


@app.command("where-next")
def where_next(
    survey: SurveyOption = HERE,
    csv: CsvOption = None,
    internal: InternalOption = False,
    json: JsonOption = False,
) -> None:
    """Show where to search for exuviae next, and when. Example: triage where-next."""
    from triage.pipeline import analysis

    with opened(survey) as here:
        found = analysis.priorities_table(here, internal=internal)
    if found.note:
        say.note(found.note)
    if json:
        say.as_json({"places": found.records(), "cautions": list(analysis.CAUTIONS)})
    elif csv is not None:
        analysis.write_csv(found, csv)
        say.line(f"{csv}: {len(found.rows)} row(s)")
    elif found.shown:
        say.table(found.headings, found.shown)
        say.line()
        for caution in analysis.CAUTIONS:
            say.line(caution)
    else:
        say.line(found.empty)


@app.command()
def report(
    to: Annotated[Path, typer.Option("--to", help="A folder that does not exist yet.")],
    survey: SurveyOption = HERE,
    seed: Annotated[int, typer.Option("--seed", min=0, help="Of every resampling.")] = 1,
    detection: Annotated[
        float | None,
        typer.Option(
            "--detection",
            min=0.01,
            max=0.99,
            help="Chance that one pass finds a taxon that is there, where the survey cannot tell"
            " (instead of detection_per_pass in survey.toml).",
        ),
    ] = None,
    classes: SchemeOption = "British",
    since: Annotated[
        Path | None, typer.Option(help="The folder of an earlier report: list what changed.")
    ] = None,
    internal: InternalOption = False,
    json: JsonOption = False,
) -> None:
    """Write the report: page, PDF, plots, tables, sheets. Example: triage report --to report."""
    from triage.pipeline import analysis

    with opened(survey) as here:
        outcome = analysis.report(
            here,
            to,
            internal=internal,
            seed=seed,
            detection=detection,
            scheme=classes,
            since=since,
            now=now(),
        )
    if json:
        say.as_json(outcome)
        raise typer.Exit(1 if outcome.leaks else 0)
    say.line(f"{to}: {'internal, not to be handed on' if internal else 'released'}")
    for name in outcome.files:
        if "/" not in name:
            say.line(f"  {to / name}")
    say.line(f"  version {outcome.version}")
    if outcome.changes is not None:
        say.line(f"  {outcome.changes} row(s) changed since {since}")
    for part in ("plots", "tables", "search-sheets"):
        count = sum(name.startswith(f"{part}/") for name in outcome.files)
        say.line(f"  {count} file(s) in {part}")
    say.line(f"  seed {outcome.seed}")
    for text in outcome.withheld:
        say.line(f"  withheld: {text}")
    for leak in outcome.leaks:
        say.line(f"  do not hand on: {leak.file} says {leak.found}")
    if outcome.leaks:
        raise typer.Exit(1)
