"""Rules of a stage and its METHOD change together, so that what was made by other rules is renewed.

``METHODS`` declares by stage the METHOD that its results carry, the module that makes them, and
the packages whose modules, reached from there by imports, are its rules. The digests of the rules
as they were when each METHOD was last thought of stand in ``data/method_stamps.json``.
"""

from __future__ import annotations

import ast
import hashlib
import io
import json
import os
import re
import tokenize
from functools import cache
from pathlib import Path

import pytest
from test_house import ROOT, _reach, imports_of_modules

from triage.pipeline import claims, consents, linking, match, proposals, queueing, sites
from triage.quality import examination

STAMPS = Path(__file__).parent / "data" / "method_stamps.json"
MODELS = (".npz", ".onnx")
WRITE = "TRIAGE_WRITE_STAMPS"
METHODS = {
    "consents": (consents.METHOD, "mail.consent", ("mail",)),
    "claims": (claims.METHOD, "metadata.reading", ("mail", "metadata")),
    "examination": (examination.METHOD, "quality.examination", ("analysis", "quality")),
    "links": (linking.METHOD, "duplicates", ("duplicates",)),
    "sightings": (proposals.METHOD, "sightings", ("sightings",)),
    "queue": (queueing.METHOD, "review_queue", ("review_queue",)),
    "matches": (match.METHOD, "matching.linking", ("matching",)),
    "adults at sites": (sites.METHOD, "matching.evidence", ("matching",)),
}


graph = cache(imports_of_modules)


def rules_of(stage: str) -> list[Path]:
    """The modules of a stage's rules, with the files of words and numbers that they name."""
    _, entry, packages = METHODS[stage]
    reached = sorted(_reach(graph(), entry) | {entry})
    found: set[Path] = set()
    for package in packages:
        found |= {path for path in (ROOT / package).rglob("*.*") if path.suffix in MODELS}
    for module in reached:
        if module.partition(".")[0] in packages:
            path = ROOT / Path(*module.split("."))
            path = path / "__init__.py" if path.is_dir() else path.with_suffix(".py")
            named = re.findall(r'"([\w-]+\.(?:toml|csv|json))"', path.read_text("utf-8"))
            found |= {path, *(path.parent / name for name in named)}
    return sorted(path for path in found if path.is_file())


@cache
def digest_of(stage: str) -> str:
    """What the rules of a stage do: neither comments nor docstrings nor empty lines."""
    found = hashlib.sha256()
    for path in rules_of(stage):
        name = path.relative_to(ROOT).as_posix()
        content = plain(path)
        if path.suffix == ".py":
            content = done(content.decode()).encode()
        found.update(f"{name} {hashlib.sha256(content).hexdigest()}\n".encode())
    return found.hexdigest()[:16]


def done(source: str) -> str:
    """Code without comments, docstrings and empty lines: the same by any version of Python."""
    lines = source.splitlines(keepends=True)
    for token in tokenize.generate_tokens(io.StringIO(source).readline):
        if token.type == tokenize.COMMENT:
            row, column = token.start
            lines[row - 1] = lines[row - 1][:column]
    for node in ast.walk(ast.parse(source)):
        body = getattr(node, "body", None)
        first = body[0] if isinstance(body, list) and body else None
        if isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant):
            for row in range(first.lineno - 1, first.end_lineno):
                lines[row] = ""
    return "\n".join(line.rstrip() for line in lines if line.strip())


def plain(path: Path) -> bytes:
    """A file's content, its lines ended as on any system."""
    return path.read_bytes().replace(b"\r\n", b"\n")


def stamps() -> dict[str, list[str]]:
    return {stage: [METHODS[stage][0], digest_of(stage)] for stage in METHODS}


@pytest.mark.parametrize("stage", METHODS)
def test_rules_that_change_raise_their_method(stage: str):
    if os.environ.get(WRITE):
        STAMPS.write_text(json.dumps(stamps(), indent=2) + "\n", encoding="utf-8")
    kept = json.loads(STAMPS.read_text("utf-8"))[stage]
    assert [METHODS[stage][0], digest_of(stage)] == kept, (
        f"the rules of {stage!r} changed. Raise METHOD if anything that a survey keeps comes out "
        f"otherwise; then {WRITE}=1 python -m pytest tests/test_method_stamps.py"
    )


def test_the_words_that_rules_are_read_with_belong_to_them():
    names = {path.name for path in rules_of("consents")}
    assert {"consent.py", "consent_words.py", "consent_words.toml", "use_words.toml"} <= names


def test_what_a_function_does_counts_and_not_what_is_said_of_it():
    said = done('def f():\n    """Says."""\n    return 1  # one\n')
    assert said == done('def f():\n\n    """Says otherwise."""\n    return 1\n')
    assert said == "def f():\n    return 1"
    assert said != done("def f():\n    return 2\n")
