"""Commands that keep a survey safe: a backup, a survey made of one, and mending."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from triage.cli import options, say
from triage.cli.app import app, fail_for, now, opened


@app.command()
def backup(
    to: Annotated[Path, typer.Option("--to", help="The zip file to write.")],
    survey: options.Survey = options.HERE,
    json: options.Json = False,
) -> None:
    """Copy the whole survey into one checked file. Example: triage backup --to linnet.zip."""
    from triage.pipeline import backup as stage

    with opened(survey) as here, say.progress_bars() as progress:
        outcome = stage.back_up(here, to, now=now(), progress=progress)
    say.told(outcome, json=json)


@app.command()
def restore(
    source: Annotated[Path, typer.Argument(help="A file that 'triage backup' wrote.")],
    survey: options.Survey = options.HERE,
    json: options.Json = False,
) -> None:
    """Make a survey of a backup. Example: triage restore linnet.zip --survey linnet-again."""
    from triage.store.backups import restore as make_again

    with say.progress_bars() as progress:
        outcome = make_again(source, survey, progress=progress)
    say.told(outcome, json=json)


@app.command()
def repair(
    copies: Annotated[
        list[Path] | None,
        typer.Option("--from", help="A copy of the survey's folder, or a backup; can be repeated."),
    ] = None,
    survey: options.Survey = options.HERE,
    processes: options.Processes = None,
    json: options.Json = False,
) -> None:
    """Mend what can be mended; exit code 1 if damage is left. Example: triage repair."""
    from triage.pipeline import repair as stage

    with opened(survey) as here, say.progress_bars() as progress:
        outcome = stage.repair(
            here, copies or (), now=now(), processes=processes, progress=progress
        )
    say.told(outcome, json=json)
    fail_for(outcome.damage)
