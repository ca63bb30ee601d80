"""No page tells anybody to type a command or an option for what a page can do."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

import triage
from triage.desk.said_here import at_desk
from triage.errors import SettingsError
from triage.pipeline import drafts
from triage.standards.data_files import toml_of

ROOT = Path(triage.__file__).parent
OF_A_COMMAND = re.compile(r"'triage |(?<![-\w])--[a-z]")
ONLY_A_COMMAND = re.compile(r"'triage (init|receive|repair|restore)\b")
NO_PAGE = (
    *("cli", "bench", "demo"),
    "desk/server.py",  # says so where the desk is started
    "mail/imap",  # mail is fetched by the command line alone
    "exports/changes.py",  # --since, as the next
    "store/backups.py",  # restoring
    "pipeline/repair.py",
    "inbox/needs.py",  # what settles a need on the command line; a page offers buttons for it
    "inbox/facts.py",
    "inbox/records.py",
    "exports/shortcomings.py",  # in the tables of an export
    "report/sections.py",
    "report/tables_of_sites.py",
    "store/settings.py",  # the meaning of a setting, as survey.toml has it
)


def words_of(tree: ast.AST) -> Iterator[str]:
    """Every text of a module but its docstrings, with "1" for what is filled in."""
    parts = {
        id(part) for one in ast.walk(tree) if isinstance(one, ast.JoinedStr) for part in one.values
    }
    parts |= {
        id(one.value)
        for one in ast.walk(tree)
        if isinstance(one, ast.Expr) and isinstance(one.value, ast.Constant)
    }
    for one in ast.walk(tree):
        if isinstance(one, ast.JoinedStr):
            yield "".join(
                str(part.value) if isinstance(part, ast.Constant) else "1" for part in one.values
            )
        elif isinstance(one, ast.Constant) and isinstance(one.value, str) and id(one) not in parts:
            yield one.value


def everything_said() -> dict[str, list[str]]:
    """The texts of each module, and what an export's own file of words says."""
    said = {
        path.relative_to(ROOT).as_posix(): list(words_of(ast.parse(path.read_text("utf-8"))))
        for path in sorted(ROOT.rglob("*.py"))
    }
    said["exports/words.toml"] = list(texts_of(toml_of("triage.exports", "words.toml")))
    return said


def texts_of(held: Any) -> Iterator[str]:
    """Every text of a file of words, those that stand as a key, too."""
    if isinstance(held, str):
        yield held
    elif isinstance(held, dict):
        for name, value in held.items():
            yield name
            yield from texts_of(value)
    elif isinstance(held, list):
        for one in held:
            yield from texts_of(one)


def test_what_is_said_for_the_command_line_is_said_otherwise_at_the_desk():
    said = everything_said()
    left = [
        f"{name}: {at_desk(text)}"
        for name, texts in said.items()
        if not name.startswith(NO_PAGE)
        for text in texts
        if OF_A_COMMAND.search(at_desk(text)) and not ONLY_A_COMMAND.search(text)
    ]
    assert left == []
    every = [text for texts in said.values() for text in texts]
    known = toml_of("triage.desk", "said_here.toml")["pages"]
    assert [one for one in known if not any(re.search(one, text) for text in every)] == []


def test_the_pages_themselves_name_no_command_but_what_only_a_command_does():
    for path in sorted((ROOT / "desk").rglob("*.html")):
        named = re.findall(r"triage (\w+)", path.read_text(encoding="utf-8"))
        assert set(named) <= {"demo", "desk", "restore"}, path.name


def test_a_missing_address_is_told_by_the_page_that_has_it(survey):
    with pytest.raises(SettingsError) as caught:
        drafts.require_address(survey, "a question")
    told = at_desk(str(caught.value))
    assert "survey.toml" not in told
    assert "Write it under Survey, Settings, then try again." in told
