"""The analyst's commands: exports, and what they are made from."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from triage.cli import say
from triage.cli.app import JsonOption, SurveyOption, app, now, opened
from triage.cli.intake import HERE

RECORDS_NAMED = 5  # of those that fail a quality test; --json has them all


@app.command()
def export(
    to: Annotated[Path, typer.Option("--to", help="A folder that does not exist yet.")],
    survey: SurveyOption = HERE,
    since: Annotated[
        Path | None,
        typer.Option(help="The folder of an earlier export: list what changed since."),
    ] = None,
    internal: Annotated[
        bool, typer.Option(help="Exact places and names, for the survey's own eyes only.")
    ] = False,
    json: JsonOption = False,
) -> None:
    """Write tables and a Darwin Core Archive. Example: triage export --to linnet-2026."""
    from triage.pipeline import publish

    with opened(survey) as here:
        outcome = publish.export(here, to, internal=internal, since=since, now=now())
    if json:
        say.as_json(outcome)
        raise typer.Exit(1 if outcome.leaks else 0)
    say.line(f"{to}: {'internal, not to be handed on' if internal else 'released'}")
    for name, count in outcome.counts:
        say.line(f"  {count} row(s) in {name}")
    for text in outcome.withheld:
        say.line(f"  withheld: {text}")
    for text in outcome.problems:
        say.line(f"  problem: {text}")
    for one in outcome.shortcomings:
        named = ", ".join(one.records[:RECORDS_NAMED])
        more = ", ..." if len(one.records) > RECORDS_NAMED else ""
        say.line(f"  {len(one.records)} record(s) fail {', '.join(one.tests)}: {named}{more}")
        say.line(f"      {one.next_step}")
    for leak in outcome.leaks:
        say.line(f"  do not hand on: {leak}")
    if outcome.leaks:
        raise typer.Exit(1)
