"""The command line's root: its order of commands, its clock, opening a survey."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, TypeVar

import typer

from triage.cli.plain_help import PlainCommand

if TYPE_CHECKING:
    from triage.store.connection import Survey

ORDER = [
    "init", "run", "demo", "desk",
    "sites", "visits", "lots", "checklist", "scores", "site-values",
    "receive", "examine", "inbox", "settle", "replies", "people", "forget",
    "copies", "measure",
    "photos", "sightings", "queue", "packet", "determine", "correct", "withdraw",
    "match", "evidence", "where-next", "report", "export",
    "undo", "log", "audit", "repair", "backup", "restore", "bench",
]  # fmt: skip


Declared = TypeVar("Declared", bound=Callable[..., Any])


class Commands(typer.Typer):
    """Declares commands whose help is in plain words."""

    def command(self, name: str | None = None, **settings: Any) -> Callable[[Declared], Declared]:
        """Declare one."""
        return super().command(name, cls=PlainCommand, **settings)


class _InOrder(typer.core.TyperGroup):
    """Lists the commands in the order of the work."""

    def list_commands(self, context: object) -> list[str]:
        """Known commands in the order of the work, any other after them."""
        del context
        known = [name for name in ORDER if name in self.commands]
        return known + sorted(self.commands.keys() - set(known))


app = Commands(
    cls=_InOrder,
    name="triage",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    help="Mail in, sightings ranked, determinations recorded, breeding sites matched, data out.",
)


def _show_version(wanted: bool) -> None:
    if wanted:
        from importlib.metadata import version

        typer.echo(f"triage {version('odonata-triage')}")
        raise typer.Exit


@app.callback()
def _root(
    version: Annotated[
        bool,
        typer.Option(
            "--version", is_eager=True, callback=_show_version, help="Show the version and stop."
        ),
    ] = False,
) -> None:
    del version


def now() -> datetime:
    """The one clock of the command line."""
    return datetime.now(UTC)


def fail_for(wrong: object) -> None:
    """End with the exit code of a problem, if there is one."""
    if wrong:
        raise typer.Exit(1)


@contextmanager
def opened(folder: Path) -> Iterator[Survey]:
    """Open the survey in this folder."""
    from triage.store.connection import open_survey

    with open_survey(folder) as survey:
        yield survey
