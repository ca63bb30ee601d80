"""The analyst's commands: exports, and what they are made from."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from triage.cli import say
from triage.cli.app import (
    HERE,
    InternalOption,
    JsonOption,
    SurveyOption,
    app,
    fail_for,
    now,
    opened,
)
from triage.standards.counting import counted

RECORDS_NAMED = 5  # of those that fail a quality test; --json has them all


@app.command()
def export(
    to: Annotated[Path, typer.Option("--to", help="A folder that does not exist yet.")],
    survey: SurveyOption = HERE,
    since: Annotated[
        Path | None,
        typer.Option(help="The folder of an earlier export: list what changed since."),
    ] = None,
    internal: InternalOption = False,
    photo_pack: Annotated[
        bool,
        typer.Option("--photo-pack", help="Write the released photos, each with its own facts."),
    ] = False,
    json: JsonOption = False,
) -> None:
    """Write tables, archives or photos to hand on. Example: triage export --to linnet-2026."""
    from triage.pipeline import publish

    if photo_pack:
        _photo_pack(survey, to, since=since, internal=internal, json=json)
        return
    with opened(survey) as here:
        outcome = publish.export(here, to, internal=internal, since=since, now=now())
    if json:
        say.as_json(outcome)
        fail_for(outcome.leaks)
        return
    say.line(f"{to}: {'internal, not to be handed on' if internal else 'released'}")
    for name, count in outcome.counts:
        say.line(f"  {counted(count, 'row')} in {name}")
    say.each("  withheld: ", outcome.withheld)
    say.each("  problem: ", outcome.problems)
    for one in outcome.shortcomings:
        named = ", ".join(one.records[:RECORDS_NAMED])
        more = ", ..." if len(one.records) > RECORDS_NAMED else ""
        say.line(
            f"  {counted(len(one.records), 'record fails', 'records fail')}"
            f" {', '.join(one.tests)}: {named}{more}"
        )
        say.line(f"      {one.next_step}")
    say.each("  do not hand on: ", outcome.leaks)
    fail_for(outcome.leaks)


def _photo_pack(survey: Path, to: Path, *, since: Path | None, internal: bool, json: bool) -> None:
    from triage.pipeline import publish

    if internal:
        raise typer.BadParameter("a photo pack is always for release: leave --internal out")
    with opened(survey) as here:
        outcome = publish.photo_pack(here, to, since=since, now=now())
        withdrawn = publish.no_longer_agreed(here)
    if json:
        say.as_json(outcome)
        fail_for(outcome.leaks)
        return
    say.line(f"{to}: {counted(len(outcome.photos), 'photo')}, version {outcome.version}")
    for reason, count in outcome.left_out:
        say.line(f"  {count} left out: {reason}")
    for change, count in outcome.changes:
        say.line(f"  {count} {change} since {since}")
    say.each("  problem: ", (*outcome.problems, *withdrawn))
    say.each("  do not hand on: ", outcome.leaks)
    fail_for(outcome.leaks)
