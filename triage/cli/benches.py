"""The figures of docs/, printed by the command that stands beside them there."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Annotated

import typer

from triage.cli import say
from triage.cli.app import ProcessesOption, app, now

bench = typer.Typer(
    help="Print the figures of docs/: speed as ratios, accuracy with intervals.",
    no_args_is_help=True,
    rich_markup_mode=None,
)
app.add_typer(bench, name="bench")

Folder = Annotated[Path, typer.Argument(help="A folder of photos.")]


@bench.command("start")
def start_() -> None:
    """Start-up over a bare interpreter. Example: triage bench start."""
    from triage.bench.start import bench as measure

    cost = measure()
    say.line(
        f"bare interpreter {cost.bare * 1000:.0f} ms, help {cost.help * 1000:.0f} ms,"
        f" ratio {cost.ratio:.1f} (goal: at most 12)"
    )


@bench.command("demo")
def demo_(
    processes: ProcessesOption = None,
    files: Annotated[Path | None, typer.Option(help="Another demo folder.")] = None,
) -> None:
    """The demo inbox against its truth; renders, no accuracy. Example: triage bench demo."""
    from triage.bench.demo import bench as measure

    with tempfile.TemporaryDirectory() as folder:
        found = measure(Path(folder) / "survey", now=now(), demo_files=files, processes=processes)
    say.lines(found.lines())
