"""The analyst's commands: exports, and what they are made from."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from triage.cli import options, say
from triage.cli.app import app, fail_for, now, opened

if TYPE_CHECKING:
    from triage.exports import ExportOutcome
    from triage.exports.photo_pack import PackOutcome


@app.command()
def export(
    to: Annotated[Path, typer.Option("--to", help="A folder that does not exist yet.")],
    survey: options.Survey = options.HERE,
    since: Annotated[
        Path | None,
        typer.Option(help="The folder of an earlier export: list what changed since."),
    ] = None,
    internal: options.Internal = False,
    date: Annotated[
        datetime | None,
        typer.Option(
            formats=["%Y-%m-%d"],
            help="The day of publication, if it is not today: to make a release anew.",
        ),
    ] = None,
    photo_pack: Annotated[
        bool,
        typer.Option("--photo-pack", help="Write the released photos, each with its own facts."),
    ] = False,
    json: options.Json = False,
) -> None:
    """Write tables, archives or photos to hand on. Example: triage export --to linnet-2026."""
    from triage.pipeline import publish
    from triage.report import releases

    if photo_pack and internal:
        raise typer.BadParameter("a photo pack is always for release: leave --internal out")
    outcome: ExportOutcome | PackOutcome
    moment = now()
    if date is not None and date.date() > moment.date():
        raise typer.BadParameter("nothing was published on a day that has not come: --date")
    day = date.date() if date is not None else None
    with opened(survey) as here:
        if photo_pack:
            outcome = publish.photo_pack(here, to, since=since, day=day, now=moment)
            told = releases.said_of_pack(outcome, publish.no_longer_agreed(here))
        else:
            outcome = publish.export(here, to, internal=internal, since=since, day=day, now=moment)
            told = releases.said_of_export(outcome, publish.no_longer_agreed(here))
    say.handed_on(to, outcome, told, internal=internal, json=json)
    fail_for(outcome.leaks)
