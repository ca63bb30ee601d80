"""The command that makes a packet for a determiner far away."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from triage.cli import options, say
from triage.cli.app import app, now, opened


@app.command()
def packet(
    whom: Annotated[str, typer.Option("--for", help="The determiner's name.")],
    to: Annotated[Path, typer.Option("--to", help="The zip file to write.")],
    survey: options.Survey = options.HERE,
    count: Annotated[int, typer.Option(min=1, max=999, help="Sightings, at most.")] = 40,
    size: Annotated[float, typer.Option(min=1, max=2000, help="Megabytes, at most.")] = 20.0,
    new: options.NewDeterminer = False,
    by: options.By = "coordinator",
    json: options.Json = False,
) -> None:
    """Pack sightings for somebody far away. Example: triage packet --for Ida --to ida.zip."""
    from triage.desk.packet_page import page
    from triage.pipeline import packet as stage
    from triage.pipeline import persons

    with opened(survey) as here, say.progress_bars() as progress:
        family = persons.known_family(here, whom) if new else ""
        made = stage.make(
            here, to, whom=whom, count=count, megabytes=size, page=page, by=by, now=now(), new=new,
            progress=progress,
        )  # fmt: skip
    say.note(family)
    say.told(made, json=json)
    say.note("The table that comes back: 'triage determine --from answers-packet-....csv'")
