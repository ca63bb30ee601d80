"""A name that is shown is shown with its doubt, wherever a page, a log or a file words it."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

from triage.determinations import Statement
from triage.standards.darwin_core import name_with_qualifier

ROOT = Path(__file__).parent.parent / "triage"
# Names of the checklist itself, and what a cell was called before it is read: neither has a doubt.
WITHOUT_DOUBT = {
    ("checklist/slips.py", "_sharing"),
    ("checklist/written.py", "_fitting"),
    ("exuviae/references.py", "_name_problem"),
}


def test_no_function_puts_a_name_into_a_text_without_looking_at_its_doubt():
    found = set()
    for path in ROOT.rglob("*.py"):
        for function in ast.walk(ast.parse(path.read_text("utf-8"))):
            if not isinstance(function, ast.FunctionDef):
                continue
            if re.search(r"qualifier|\.written\b", ast.unparse(function)):
                continue
            found |= {
                (path.relative_to(ROOT).as_posix(), function.name)
                for piece in ast.walk(function)
                if isinstance(piece, ast.FormattedValue)
                for named in ast.walk(piece.value)
                if isinstance(named, ast.Attribute) and named.attr == "scientific_name"
            }
    assert found == WITHOUT_DOUBT


def test_no_page_shows_a_name_without_its_doubt():
    shown = [
        line
        for path in ROOT.rglob("*.html")
        for line in path.read_text("utf-8").splitlines()
        for part in re.findall(r"\{\{[^}]*scientific_name[^}]*\}\}", line)
        if "taxon.scientific_name" not in part and "qualifier" not in line
    ]
    assert shown == []


@pytest.mark.parametrize(
    ("qualifier", "written"),
    [
        ("", "Aeshna mixta"),
        ("cf.", "Aeshna cf. mixta"),
        ("aff.", "Aeshna aff. mixta"),
        ("nr.", "Aeshna nr. mixta"),
        ("?", "Aeshna mixta ?"),
        ("agg.", "Aeshna mixta agg."),
        ("s.l.", "Aeshna mixta s.l."),
        ("cf. s.l.", "Aeshna cf. mixta s.l."),
    ],
)
def test_the_log_and_the_pages_write_the_doubt_where_it_belongs(qualifier, written):
    assert name_with_qualifier("Aeshna mixta", qualifier) == written
    assert Statement(taxon="Aeshna mixta", qualifier=qualifier).words == written


def test_what_has_no_name_has_no_doubt():
    assert name_with_qualifier("", "cf.") == ""
    assert Statement(cannot_tell="too far", qualifier="cf.").words == "too far"
