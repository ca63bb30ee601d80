"""The desk's command: the same work as on the command line, on a page of this machine."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from triage.cli import options, say
from triage.cli.app import app


@app.command()
def desk(
    survey: options.Survey = options.HERE,
    port: Annotated[
        int, typer.Option(min=0, max=65535, help="A port; 0: any that is free.")
    ] = 8417,
    browser: Annotated[
        bool, typer.Option("--browser/--no-browser", help="Open the page, or only say where it is.")
    ] = True,
    share: Annotated[
        list[str] | None,
        typer.Option(help="Open it to the local network for this person (once for each)."),
    ] = None,
    starter: Annotated[
        Path | None, typer.Option(help="Only write a file to double-click, here.")
    ] = None,
) -> None:
    """Open the desk: inbox and determinations in the browser. Example: triage desk."""
    from triage.desk import server

    if starter is not None:
        say.line(f"Double-click {server.write_starter(survey, starter)} to open the desk.")
        return
    server.serve(survey, port=port, share=share or [], browser=browser, say=say.note)
