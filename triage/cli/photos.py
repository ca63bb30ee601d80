"""The commands about single photos: what stands of each, and a photo withdrawn by its sender."""

from __future__ import annotations

from typing import Annotated

import typer

from triage.cli import options, say
from triage.cli.app import app, now, opened


@app.command()
def photos(
    messages: Annotated[
        list[str] | None, typer.Argument(help="Only of these messages (the first six digits do).")
    ] = None,
    survey: options.Survey = options.HERE,
    csv: options.Csv = None,
    json: options.Json = False,
) -> None:
    """List every photo with the time and place that stand. Example: triage photos --csv p.csv."""
    from triage.exports.standing_photos import sentence_of, table_of
    from triage.pipeline import photo_list as stage

    with opened(survey) as here:
        rows = stage.standing_photos(here, messages or None)
    if csv is not None:
        say.written(csv, table_of(rows), len(rows), "photo")
    if json or csv is None:
        say.listed(
            rows,
            {
                "photo": lambda row: row.photo[:10],
                "message": lambda row: row.message[:10],
                "view": lambda row: row.view or "-",
                "usability": lambda row: "-" if row.usability is None else f"{row.usability:.2f}",
                "sighting": lambda row: row.sightings or "-",
                "stands": lambda row: row.problem or sentence_of(row),
            },
            empty="No photos yet: 'triage run MAIL' receives mail and examines its photos.",
            json=json,
        )


@app.command()
def withdraw(
    photos: Annotated[list[str], typer.Argument(help="At least six digits of each digest.")],
    survey: options.Survey = options.HERE,
    reason: Annotated[str, typer.Option(help="Why, for the log.")] = "",
    by: options.By = "coordinator",
) -> None:
    """Take photos out at their sender's wish; undo puts back. Example: triage withdraw 3fa91c."""
    from triage.pipeline import correct as stage

    with opened(survey) as here:
        emptied = stage.withdraw(here, photos, reason=reason, by=by, now=now())
    say.each("", photos, ": withdrawn; it is in no export. 'triage undo' puts it back.")
    say.each("sighting ", emptied, ": set aside, it showed nothing else")
