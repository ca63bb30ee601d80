"""The analyst's figures: evidence, where to search next, the report, scores, values at sites."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from triage.cli import options, say
from triage.cli.app import app, fail_for, now, opened
from triage.cli.evidence import DayFirstOption, Table, order_of
from triage.standards.counting import counted

if TYPE_CHECKING:
    from triage.report import parts

SchemeOption = Annotated[
    str, typer.Option("--classes", help="Published classes of evidence: British, or Central.")
]


@app.command("site-values")
def site_values(
    file: Table,
    survey: options.Survey = options.HERE,
    by: options.By = "coordinator",
    day_first: DayFirstOption = None,
    json: options.Json = False,
) -> None:
    """Import values measured at sites. Example: triage site-values water.csv."""
    from triage.pipeline import analysis, tables
    from triage.report.tables_of_sites import correlations_table

    with opened(survey) as here:
        outcome = tables.import_table(
            here, "site-values", file, by=by, now=now(), day_order=order_of(day_first)
        )
        found = analysis.site_correlations(here)
        shown = correlations_table(found)
    if json:
        say.as_json({"import": outcome, "correlations": found})
        return
    say.told(outcome, json=False)
    if found:
        say.line()
        say.table(shown.headings, shown.shown)
        say.line(found[0].correlation.warning)


@app.command()
def evidence(
    survey: options.Survey = options.HERE,
    csv: options.Csv = None,
    classes: SchemeOption = "British",
    internal: options.Internal = False,
    json: options.Json = False,
) -> None:
    """Show what breeds where: sites by taxa, with the evidence. Example: triage evidence."""
    from triage.pipeline import analysis

    with opened(survey) as here:
        found = analysis.evidence_table(here, internal=internal, scheme=classes)
    _say(found, csv, json=json)


@app.command("where-next")
def where_next(
    survey: options.Survey = options.HERE,
    csv: options.Csv = None,
    internal: options.Internal = False,
    json: options.Json = False,
) -> None:
    """Show where to search for exuviae next, and when. Example: triage where-next."""
    from triage.pipeline import analysis
    from triage.standards.cautions import cautions

    with opened(survey) as here:
        found = analysis.priorities_table(here, internal=internal)
    _say(found, csv, json=json, cautions=cautions())


def _say(found: parts.Table, csv: Path | None, *, json: bool, cautions: Sequence[str] = ()) -> None:
    """A table of the report, with what goes with it wherever it sends people to a shore."""
    from triage.report.parts import filed
    from triage.store.whole_files import handed_out

    if found.note:
        say.note(found.note)
    if json:
        rows = found.records()
        say.as_json({"places": rows, "cautions": list(cautions)} if cautions else rows)
    elif csv is not None:
        with handed_out(csv, "the table") as part:
            part.write_bytes(filed(found.columns, found.rows))
        say.line(f"{csv}: {counted(len(found.rows), 'row')}")
    elif found.shown:
        say.table(found.headings, found.shown)
        say.lines(["", *cautions] if cautions else [])
    else:
        say.line(found.empty)


@app.command()
def report(
    to: Annotated[Path, typer.Option("--to", help="A folder that does not exist yet.")],
    survey: options.Survey = options.HERE,
    seed: Annotated[int, typer.Option("--seed", min=0, help="Same number, same resampling.")] = 1,
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
    internal: options.Internal = False,
    json: options.Json = False,
) -> None:
    """Write the report: page, PDF, plots, tables, sheets. Example: triage report --to report."""
    from triage.pipeline import analysis
    from triage.report.releases import said_of_report

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
    say.handed_on(to, outcome, said_of_report(outcome), internal=internal, json=json)
    fail_for(outcome.leaks)
