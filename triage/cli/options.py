"""The options that several commands share, each declared once."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

import typer

HERE = Path()
Survey = Annotated[
    Path, typer.Option("--survey", help="The survey folder (default: the current folder).")
]
Csv = Annotated[Path | None, typer.Option("--csv", help="Write the table here.", dir_okay=False)]
Internal = Annotated[
    bool, typer.Option("--internal", help="Exact places and names, for the survey's own eyes only.")
]
NewDeterminer = Annotated[
    bool, typer.Option("--new", help="The determiner is new here: add this person.")
]
Json = Annotated[bool, typer.Option("--json", help="Print one JSON document, for programs.")]
By = Annotated[str, typer.Option("--by", help="Your name, for the log.")]
Photographer = Annotated[str, typer.Option(help="Who took it, if its sender did not.")]
NewPerson = Annotated[
    bool, typer.Option("--new", help="With --photographer: somebody not known yet.")
]
Password = Annotated[
    str, typer.Option("--password-from", help="Kept in: keyring, env:NAME or command:LINE.")
]
Token = Annotated[
    bool, typer.Option("--token", help="What --password-from gives is an OAuth2 access token.")
]
Security = Annotated[
    Literal["tls", "starttls", "none"],
    typer.Option("--security", help="How the connection is secured; none only to this machine."),
]
Certificates = Annotated[
    Path | None, typer.Option("--ca-file", help="Certificates to trust, for a server of your own.")
]
Processes = Annotated[
    int | None, typer.Option("--processes", min=1, help="Photos at once (default: one a core).")
]
