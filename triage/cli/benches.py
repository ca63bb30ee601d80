"""Prints the figures of docs/figures/, each by the command that stands beside it there."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from triage.cli import options, say
from triage.cli.app import Commands, app, opened

bench = Commands(
    help="Measure speed and accuracy, for docs/figures/.",
    no_args_is_help=True,
    rich_markup_mode=None,
)
app.add_typer(bench, name="bench")


@bench.command("copies")
def copies_(
    folder: Annotated[Path, typer.Argument(help="A folder of photos; nothing is written there.")],
    limit: Annotated[int, typer.Option(help="Use so many photos (0: all).")] = 100,
) -> None:
    """Recall of 38 kinds of copy, and false joins. Example: triage bench copies photos."""
    from triage.bench.copies import measure_copies

    with say.progress_bars() as progress:
        found = measure_copies(folder, limit=limit, progress=progress)
    say.lines(found.lines())


@bench.command("examine")
def examine_() -> None:
    """Cost of one 12-megapixel photo over the least. Example: triage bench examine."""
    from triage.bench.examine import bench_examine

    say.lines(bench_examine(cores=True).lines())


@bench.command("receive")
def receive_(
    megabytes: Annotated[int, typer.Option(min=1, help="Size of the mbox that is made.")] = 200,
) -> None:
    """Mail a second, and memory. Example: triage bench receive --megabytes 10000."""
    from triage.bench.receive import bench as measure

    say.lines(measure(megabytes * 1_000_000))


@bench.command("sentences")
def sentences_(
    mails: Annotated[int, typer.Option(min=1, help="Mails of eight sentences each.")] = 20,
) -> None:
    """Cost of what sentences mean, and its first load. Example: triage bench sentences."""
    from triage.bench.sentences import bench as measure

    say.lines(measure(mails))


@bench.command("match")
def match_() -> None:
    """How often stated shares are right on known lands. Example: triage bench match."""
    from triage.bench import calibration

    for kernel, land in calibration.LANDS.items():
        say.line(f"{kernel}:")
        say.lines(calibration.lines(calibration.of_all_scenarios(kernel, **land)))


@bench.command("intervals")
def intervals_(
    runs: Annotated[int, typer.Option(min=1, help="Surveys of each size.")] = 60,
) -> None:
    """How often 95 % intervals hold the truth. Example: triage bench intervals."""
    from triage.bench.intervals import bench as measure
    from triage.bench.intervals import lines

    say.lines(lines(measure(runs=runs)))


@bench.command("survey")
def survey_(
    photos: Annotated[
        list[int] | None,
        typer.Option("--photos", min=400, help="Sizes of the survey, in photos."),
    ] = None,
) -> None:
    """What work costs as a survey grows. Example: triage bench survey --photos 20000."""
    from triage.bench.desk import time_pages
    from triage.bench.survey_work import SIZES, lines
    from triage.bench.survey_work import bench as measure
    from triage.desk import create_app

    costs = measure(lambda folder: time_pages(create_app(folder)), photos=photos or SIZES)
    say.lines(lines(list(costs)))


@bench.command("desk")
def desk_() -> None:
    """From Enter to the next picture, in a browser. Example: triage bench desk."""
    from triage.bench.desk_browser import bench as measure
    from triage.desk import create_app

    say.line(measure(create_app))


@bench.command("usability")
def usability_(survey: options.Survey = options.HERE) -> None:
    """Usability against this survey's own determinations. Example: triage bench usability."""
    from triage.pipeline import learning

    with opened(survey) as here:
        found = learning.usability_refit(here)
    say.line(f"{found.rows} determined sightings: {found.reason}")
    if found.brier_before == found.brier_before:
        say.line(f"Brier score {found.brier_before:.3f} now, {found.brier_after:.3f} refitted")
        say.line(
            f"calibration error {found.calibration_before:.3f} now,"
            f" {found.calibration_after:.3f} refitted (held-out folds by observer)"
        )


@bench.command("vision")
def vision_(
    photos: Annotated[
        list[Path],
        typer.Argument(
            help="Folders of photos, each with labels.csv (docs/figures/vision.md).",
            exists=True,
            file_okay=False,
        ),
    ],
    sheet: Annotated[
        Path | None, typer.Option("--sheet", help="Write a page with the worst mistakes here.")
    ] = None,
    focus: Annotated[bool, typer.Option("--focus", help="Add the rows on focus; slow.")] = False,
) -> None:
    """How well the insect is seen, cross-validated. Example: triage bench vision photos more."""
    from triage.bench.vision import bench as measure

    with say.progress_bars() as progress:
        found = measure(photos, sheet=sheet, focus=focus, progress=progress)
    say.lines(found.lines())
