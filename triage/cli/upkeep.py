"""Commands for all of the work at once, and for looking after a survey."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from triage.cli import options, say
from triage.cli.app import app, fail_for, now, opened
from triage.cli.reviewing import print_queue


@app.command()
def run(
    sources: Annotated[list[Path], typer.Argument(help="Folders, .eml, mbox, Maildir or .zip.")],
    survey: options.Survey = options.HERE,
    processes: options.Processes = None,
    json: options.Json = False,
) -> None:
    """Receive, examine, group, match and print the queue. Example: triage run inbox.mbox."""
    from triage.pipeline import walk
    from triage.report.queue_sheet import rows

    with say.progress_bars() as progress:
        outcome = walk.run(sources, survey, now=now(), processes=processes, progress=progress)
    if json:
        say.as_json(rows(outcome.queue))
        return
    say.lines(outcome.lines)
    print_queue(outcome.queue)


@app.command()
def undo(
    number: Annotated[
        int | None,
        typer.Argument(help="The number in 'triage log' (default: your own newest action)."),
    ] = None,
    survey: options.Survey = options.HERE,
    by: options.By = "coordinator",
    show: Annotated[bool, typer.Option("--show", help="Only say what it would take back.")] = False,
) -> None:
    """Take back an action, or an undo; nothing is deleted. Example: triage undo."""
    from triage.pipeline import undo as stage
    from triage.pipeline import walk
    from triage.pipeline.log import with_names

    with opened(survey) as here:
        found = stage.to_take_back(here, by=by, number=number)
        what = f"{found.number} {found.command} by {found.by}: {with_names(here, found.summary)}"
        say.line(f"{'would take' if show else 'takes'} back: {what}")
        if show:
            return
        undone = stage.undo(here, by=by, now=now(), number=found.number)
        with say.progress_bars() as progress:
            walk.renew(here, now=now(), progress=progress)  # a table may have been taken back
    say.line(f"done; 'triage undo {undone.number}' takes this back again")


@app.command()
def log(
    survey: options.Survey = options.HERE,
    limit: Annotated[int, typer.Option(help="Show this many.")] = 50,
    json: options.Json = False,
) -> None:
    """Show who did what and when, the newest first. Example: triage log."""
    from triage.pipeline import log as stage

    with opened(survey) as here:
        blind = here.settings.determinations.blind
        found = stage.log_of(here, limit=limit, reader="", blind=blind)
    say.listed(
        found,
        {
            "": lambda one: str(one.number),
            "when": lambda one: one.at,
            "who": lambda one: one.by,
            "what": lambda one: one.command,
            " ": lambda one: one.summary + (" (taken back)" if one.taken_back else ""),
        },
        empty="Nothing has been done in this survey yet.",
        json=json,
    )


@app.command()
def audit(
    survey: options.Survey = options.HERE,
    dump: Annotated[bool, typer.Option("--dump", help="Print all rows in a fixed order.")] = False,
    json: options.Json = False,
) -> None:
    """Check that nothing is lost or damaged; exit code 1 if it is. Example: triage audit."""
    from triage.pipeline import audit as stage
    from triage.store.dump import canonical_dump

    with opened(survey) as here:
        if dump:
            for text in canonical_dump(here):
                say.line(text)
            return
        with say.progress_bars() as progress:
            outcome = stage.check(here, now=now(), progress=progress)
    say.told(outcome, json=json)
    fail_for(outcome.damage)


@app.command()
def demo(
    survey: Annotated[Path, typer.Option("--survey", help="Where to make the demo survey.")] = Path(
        "demo-survey"
    ),
    generate: Annotated[
        Path | None, typer.Option("--generate", help="Only make the demo's files, here.")
    ] = None,
    processes: options.Processes = None,
) -> None:
    """Try everything on an invented survey, from mail to export. Example: triage demo."""
    from triage.demo import walk

    if generate is not None:
        say.line(str(walk.make_files(generate)))
        return
    with say.progress_bars() as progress:
        outcome = walk.show(survey, now=now(), processes=processes, progress=progress)
    say.lines(outcome.walk.lines)
    print_queue(outcome.walk.queue[:10])
    for text in outcome.lines:
        say.line(text)
