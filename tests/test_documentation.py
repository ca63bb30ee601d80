"""What the documents promise: two commands, every command listed, every link leads somewhere."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from typer.main import get_command

from triage.cli import main
from triage.cli.app import app

ROOT = Path(__file__).parent.parent
DOCUMENTS = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").rglob("*.md"))]


def commands() -> dict[str, object]:
    from triage.cli import register_commands

    register_commands()
    return dict(get_command(app).commands)  # type: ignore[attr-defined]


def test_the_readme_has_one_line_to_try_it_and_one_to_test_it():
    lines = (ROOT / "README.md").read_text(encoding="utf-8").splitlines()
    posix = [line.strip() for line in lines if line.startswith("    python3 -m venv")]
    assert [line.rsplit("/", 1)[-1] for line in posix] == ["triage demo", "python -m pytest"]


def test_every_command_stands_in_the_list_of_commands():
    text = (ROOT / "docs" / "commands.md").read_text(encoding="utf-8")
    missing = [name for name in commands() if not re.search(rf"[` ]{name}\b", text)]
    assert missing == []


def test_every_command_has_help_with_an_example():
    for name, command in commands().items():
        text = getattr(command, "help", "") or ""
        assert "Example: triage" in text or name == "bench", name


def test_the_help_of_every_command_can_be_shown(capsys):
    for name in commands():
        assert main([name, "--help"]) == 0
        assert "Usage: " in capsys.readouterr().out


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda path: path.name)
def test_every_link_between_documents_leads_somewhere(document: Path):
    text = document.read_text(encoding="utf-8")
    targets = re.findall(r"\]\((?!https?:|#)([^)#]+)", text)
    assert [t for t in targets if not (document.parent / t).exists()] == []
