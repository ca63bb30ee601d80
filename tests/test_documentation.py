"""What the documents promise: two commands, every command listed, every link leads somewhere."""

from __future__ import annotations

import re
from pathlib import Path
from runpy import run_path

import pytest
from typer.main import get_command

from triage.cli import main
from triage.cli.app import ORDER, app
from triage.store.settings import Settings, settings_text

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
        shown = capsys.readouterr().out
        assert "Usage: " in shown
        assert "<" not in shown, "a type of the programming language stands there"


def test_every_option_of_every_command_stands_on_its_page():
    written = (ROOT / "docs" / "options.md").read_text(encoding="utf-8")
    assert written == run_path(str(ROOT / "tools" / "options.py"))["page"]()


def test_the_commands_are_listed_in_the_order_of_the_work():
    assert set(commands()) == set(ORDER)


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda path: path.name)
def test_every_link_between_documents_leads_somewhere(document: Path):
    text = document.read_text(encoding="utf-8")
    targets = re.findall(r"\]\((?!https?:|#)([^)#]+)", text)
    assert [t for t in targets if not (document.parent / t).exists()] == []


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda path: path.name)
def test_every_file_that_a_document_names_is_there(document: Path):
    text = document.read_text(encoding="utf-8")
    named = re.findall(r"(?<![\w/.-])(?:tests|triage|docs|tools|demo_photos)/[\w./*-]*[\w/*]", text)
    named = [name for name in named if "LANGUAGE" not in name]  # a word to be replaced
    assert [name for name in named if not any(ROOT.glob(name))] == []


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda path: path.name)
def test_every_name_that_a_document_imports_can_be_imported(document: Path):
    for line in re.findall(
        r"^\s*(from triage[\w.]* import [\w, ]+)", document.read_text("utf-8"), re.M
    ):
        exec(line, {})


def test_the_settings_are_shown_as_they_are_written():
    page = (ROOT / "docs" / "settings.md").read_text(encoding="utf-8")
    (shown,) = re.findall(r"```toml\n(.*?)```", page, re.DOTALL)
    assert shown == settings_text(Settings())


def test_every_setting_says_what_it_is_for():
    sections = [field.default for field in Settings.model_fields.values()]
    silent = [
        f"{type(section).__name__}.{name}"
        for section in sections
        for name, field in type(section).model_fields.items()
        if not field.description
    ]
    assert silent == []
