"""The command line's root: its order of commands, the options that many share, opening a survey."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

if TYPE_CHECKING:
    from triage.store.connection import Survey

ORDER = [
    "init", "run", "demo", "desk",
    "sites", "visits", "lots", "checklist", "scores", "site-values",
    "receive", "examine", "inbox", "settle", "replies", "people", "forget",
    "copies", "measure",
    "photos", "sightings", "queue", "determine", "correct", "withdraw",
    "match", "evidence", "where-next", "report", "export",
    "undo", "log", "audit", "repair", "backup", "restore", "bench",
]  # fmt: skip


class _InOrder(typer.core.TyperGroup):
    """Lists the commands in the order of the work."""

    def list_commands(self, context: object) -> list[str]:
        """Known commands in the order of the work, any other after them."""
        del context
        known = [name for name in ORDER if name in self.commands]
        return known + sorted(self.commands.keys() - set(known))


app = typer.Typer(
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


HERE = Path()
SurveyOption = Annotated[
    Path, typer.Option("--survey", help="The survey folder (default: the current folder).")
]
CsvOption = Annotated[
    Path | None, typer.Option("--csv", help="Write the table here.", dir_okay=False)
]
InternalOption = Annotated[
    bool, typer.Option("--internal", help="Exact places and names, for the survey's own eyes only.")
]
NewDeterminerOption = Annotated[
    bool, typer.Option("--new", help="The determiner is new here: add this person.")
]
JsonOption = Annotated[bool, typer.Option("--json", help="One JSON document on standard output.")]
ByOption = Annotated[str, typer.Option("--by", help="Your name, for the log.")]
PhotographerOption = Annotated[str, typer.Option(help="Who took it, if its sender did not.")]
NewPersonOption = Annotated[
    bool, typer.Option("--new", help="With --photographer: somebody not known yet.")
]
PasswordOption = Annotated[
    str, typer.Option("--password-from", help="keyring, env:NAME or command:LINE; never typed.")
]
TokenOption = Annotated[
    bool, typer.Option("--token", help="What --password-from gives is an OAuth2 access token.")
]
SecurityOption = Annotated[
    Literal["tls", "starttls", "none"],
    typer.Option("--security", help="How the connection is kept private; none to this machine."),
]
CertificatesOption = Annotated[
    Path | None, typer.Option("--ca-file", help="Certificates to trust, for a server of your own.")
]
ProcessesOption = Annotated[
    int | None, typer.Option("--processes", min=1, help="Processes to use (default: all cores).")
]


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
