"""A module imports only from its left: the order of the stages, read from the source."""

from __future__ import annotations

import ast
from pathlib import Path

import triage

ORDER = [
    "errors", "workers", "analysis", "estimates", "standards", "mail", "photos", "metadata",
    "duplicates", "quality", "sightings", "checklist", "review_queue", "packets", "determinations",
    "exuviae", "matching", "privacy", "exports", "loose_photos", "replies", "inbox", "report",
    "store", "pipeline", "bench", "demo", "desk", "cli",
]  # fmt: skip
SAME_STEP = {"bench": {"demo"}, "demo": {"bench"}}
ROOT = Path(triage.__file__).parent


def imported_stages(path: Path) -> set[str]:
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        names = []
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.module:
            names = [node.module]
            if node.module == "triage":
                names = [f"triage.{alias.name}" for alias in node.names]
        found |= {n.split(".")[1] for n in names if n.startswith("triage.")}
    return found


def test_every_stage_stands_in_the_order():
    stages = {p.stem for p in ROOT.iterdir() if p.suffix == ".py" or (p / "__init__.py").exists()}
    assert stages - {"__init__", "__pycache__"} <= set(ORDER)


def test_a_module_imports_only_from_its_left():
    wrong = []
    for path in sorted(ROOT.rglob("*.py")):
        stage = path.relative_to(ROOT).parts[0].removesuffix(".py")
        if stage == "__init__":
            continue
        for other in imported_stages(path) & set(ORDER):
            backwards = ORDER.index(other) > ORDER.index(stage)
            if backwards and other not in SAME_STEP.get(stage, set()):
                wrong.append(f"{path.relative_to(ROOT)} imports {other}")
    assert wrong == []


def test_only_the_store_holds_sql():
    words = ("select ", "insert into ", "delete from ", "update ")
    wrong = []
    for path in sorted(ROOT.rglob("*.py")):
        if path.relative_to(ROOT).parts[0] == "store":
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if (
                isinstance(node, ast.Constant)
                and isinstance(node.value, str)
                and node.value.lower().startswith(words)
                and (" from " in node.value.lower() or " set " in node.value.lower())
            ):
                wrong.append(f"{path.relative_to(ROOT)}: {node.value[:40]}")
    assert wrong == []
