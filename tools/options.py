"""Write docs/options.md anew: every command's arguments and options, as its --help tells them.

python tools/options.py
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from typer.main import get_command

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from triage.cli import register_commands  # noqa: E402
from triage.cli.app import app  # noqa: E402
from triage.cli.plain_help import told_of  # noqa: E402

PAGE = ROOT / "docs" / "options.md"
BAR = r"\|"  # within a cell of a table
HEAD = """# Every option of every command

What `--help` prints of each command, on one page, in the order of [the work](commands.md). TEXT,
NUMBER and PATH stand for what you type; a text with blanks goes between quotation marks
(`--by "Ida Kvist"`). `triage --version` prints the version.

`python tools/options.py` writes this page; a test compares it with what the commands take.
"""


def page() -> str:
    """The whole page."""
    register_commands()
    root = get_command(app)
    return "\n".join([HEAD, *_sections(root, "triage")])


def _sections(command: Any, name: str) -> Iterator[str]:
    if not hasattr(command, "commands"):
        yield from _section(command, name)
        return
    for one in command.list_commands(None):
        yield from _sections(command.commands[one], f"{name} {one}")


def _section(command: Any, name: str) -> Iterator[str]:
    says, _, example = " ".join(command.help.split()).partition(" Example: ")
    yield f"## {name}\n\n{says}\n\n    {example.removesuffix('.')}\n"
    told = told_of(command)
    if told:
        yield "| option | what it is for |\n|---|---|"
        for how, why in told:
            yield f"| `{how.replace('|', BAR)}` | {why} |"
        yield ""


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
