"""The analyst's imports and matching: sites, visits, lots, checklist."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from triage.cli import options, say
from triage.cli.app import app, now, opened
from triage.standards.counting import counted

if TYPE_CHECKING:
    from triage.pipeline.tables import Kind
    from triage.standards.tables import DayOrder

Table = Annotated[Path, typer.Argument(help="A table (CSV); docs/tables.md lists its columns.")]
OptionalTable = Annotated[
    Path | None, typer.Argument(help="A table (CSV); without it, the sites are listed.")
]

DayFirstOption = Annotated[
    bool | None,
    typer.Option(
        "--day-first/--month-first",
        help="How days such as 03/08/2026 are written, where the table does not show it.",
        show_default=False,
    ),
]


def order_of(day_first: bool | None) -> DayOrder:
    """What was said of the order of day and month."""
    if day_first is None:
        return ""
    return "day first" if day_first else "month first"


@app.command()
def sites(
    file: OptionalTable = None,
    survey: options.Survey = options.HERE,
    withdraw: Annotated[str, typer.Option(help="Take out a site typed by mistake.")] = "",
    new: Annotated[
        bool, typer.Option("--new", help="Sites that share a name or a point are two sites.")
    ] = False,
    by: options.By = "coordinator",
    json: options.Json = False,
) -> None:
    """Import or list sites. Example: triage sites sites.csv."""
    from triage.pipeline import tables, walk
    from triage.store import evidence

    if withdraw:
        with opened(survey) as here, say.progress_bars() as progress:
            left = tables.withdraw_site(here, withdraw, by=by, now=now())
            walk.renew(here, now=now(), progress=progress)
        say.line(f"{withdraw} withdrawn; 'triage undo' puts it back")
        if left:
            say.note(
                f"{counted(left, 'visit or lot of it is', 'visits and lots of it are')} kept and"
                " counted nowhere until the site stands again; 'triage audit' lists them."
            )
        return
    if file is None:
        with opened(survey) as here:
            found = evidence.sites(here)
        say.listed(
            found,
            {
                "site": lambda one: one.location_id,
                "locality": lambda one: one.locality,
                "latitude": lambda one: f"{one.decimal_latitude:.5f}",
                "longitude": lambda one: f"{one.decimal_longitude:.5f}",
                "uncertainty": lambda one: f"{one.coordinate_uncertainty_in_meters:.0f} m",
            },
            empty="No site is imported yet: 'triage sites SITES.csv' takes a list in.",
            json=json,
        )
        return
    imported(survey, file, "sites", by, json, twins=new)


@app.command()
def match(survey: options.Survey = options.HERE, json: options.Json = False) -> None:
    """Link every sighting to exuviae sites. Example: triage match."""
    from triage.pipeline import match as stage

    with opened(survey) as here:
        matches = stage.match(here)
    say.listed(
        matches,
        {
            "sighting": lambda one: one.sighting,
            "site": lambda one: one.location_id or "none of them",
            "distance": lambda one: "-" if one.distance is None else f"{one.distance:.0f} m",
            "taxon": lambda one: one.taxon_agreement,
            "share": lambda one: f"{one.share:.2f} ({one.share_low:.2f} to {one.share_high:.2f})",
            "why": lambda one: one.reason,
        },
        empty="No sighting is matched: import sites and receive mail first.",
        json=json,
    )


def imported(
    survey: Path,
    file: Path,
    kind: Kind,
    by: str,
    json: bool,
    *,
    twins: bool = False,
    day_first: bool | None = None,
) -> None:
    """Import one table and say what became of its rows."""
    from triage.pipeline import tables, walk

    with opened(survey) as here:
        outcome = tables.import_table(
            here, kind, file, by=by, now=now(), twins=twins, day_order=order_of(day_first)
        )
        if outcome.new or outcome.changed:
            with say.progress_bars() as progress:
                walk.renew(here, now=now(), progress=progress)
    say.told(outcome, json=json)


def _add_dated_import(kind: Kind, words: str) -> None:
    """A command that imports one table with days in it."""

    def command(
        file: Table,
        survey: options.Survey = options.HERE,
        by: options.By = "coordinator",
        day_first: DayFirstOption = None,
        json: options.Json = False,
    ) -> None:
        imported(survey, file, kind, by, json, day_first=day_first)

    app.command(kind, help=f"{words} Example: triage {kind} {kind}.csv.")(command)


def _add_import(kind: Kind, words: str) -> None:
    """A command that imports one table."""

    def command(
        file: Table,
        survey: options.Survey = options.HERE,
        by: options.By = "coordinator",
        json: options.Json = False,
    ) -> None:
        imported(survey, file, kind, by, json)

    app.command(kind, help=f"{words} Example: triage {kind} {kind}.csv.")(command)


_add_dated_import("visits", "Import visits, also those that found nothing.")
_add_dated_import("lots", "Import exuviae lots by their lot number.")
_add_import("checklist", "Import the taxa that the survey accepts.")
_add_import("scores", "Import a biotic index's scores of taxa.")
