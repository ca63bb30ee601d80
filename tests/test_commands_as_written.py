"""Every command in README and docs/ is one: what a newcomer types runs as written, in order."""

from __future__ import annotations

import os
import re
import shlex
import shutil
from pathlib import Path

import pytest
from tests_support import DEMO
from typer.main import get_command

from triage.cli import main, register_commands
from triage.cli.app import app

ROOT = Path(__file__).parent.parent
DOCUMENTS = [ROOT / "README.md", *sorted((ROOT / "docs").rglob("*.md"))]


def lines_to_type(document: Path) -> list[str]:
    """The lines that a document sets apart to be typed, comments left out."""
    indented = re.findall(r"^    (\S.*)$", document.read_text(encoding="utf-8"), re.MULTILINE)
    typed = [line.split("  #")[0].strip() for line in indented]
    return [line for line in typed if line.startswith(("triage ", "cd "))]


def type_in(lines: list[str], capsys: pytest.CaptureFixture[str]) -> list[str]:
    """Type lines one after the other where we stand; return those that failed, with their words."""
    failed = []
    for line in lines:
        words = shlex.split(line)
        if words[0] == "cd":
            os.chdir(words[1])
        elif main(words[1:]) != 0:
            failed.append(f"{line}: {capsys.readouterr().err}")
        capsys.readouterr()
    return failed


def test_the_lines_of_the_readme_work_in_their_order(tmp_path: Path, monkeypatch, capsys):
    shutil.copytree(DEMO, tmp_path / "demo_photos")
    monkeypatch.chdir(tmp_path)
    lines = lines_to_type(ROOT / "README.md")
    assert len(lines) > 15
    assert type_in(lines, capsys) == []
    assert (tmp_path / "linnet" / "linnet-2026" / "darwin-core-archive.zip").exists()


def spoken_of(document: Path) -> list[str]:
    """Commands in the running text: `triage settle ID --ask place`, and those set apart."""
    text = document.read_text(encoding="utf-8")
    inline = re.findall(r"`(triage [^`]+)`", text)
    return sorted({" ".join(one.split()) for one in [*inline, *lines_to_type(document)]})


SPOKEN = [
    pytest.param(command, id=f"{document.name}: {command}")
    for document in DOCUMENTS
    for command in spoken_of(document)
    if command.startswith("triage ")
]


@pytest.mark.parametrize("command", SPOKEN)
def test_a_command_in_the_documents_exists_with_its_options(command: str):
    register_commands()
    words = command.replace("...", "").split()[1:]
    known = get_command(app)
    while words and hasattr(known, "commands") and not words[0].startswith("-"):
        assert words[0] in known.commands, command
        known = known.commands[words.pop(0)]
    options = {flag for one in known.params for flag in (*one.opts, *one.secondary_opts)}
    used = {word.split("=")[0] for word in words if word.startswith("--")} - {"--help"}
    assert used <= options, command
