"""The shape of the tree, read from the source: lines, circles, long files and functions, tests.

The budgets are ceilings, not goals: lower a package's budget when it has shrunk, and raise it only
on purpose, in the change that brings a feature. ``python tests/test_house.py`` prints the figures.
"""

from __future__ import annotations

import ast
import os
import re
from collections import Counter
from collections.abc import Container, Iterator
from functools import cache
from pathlib import Path

import pytest

TESTS = Path(__file__).parent
ROOT = TESTS.parent / "triage"

LINES_OF_PACKAGE = {
    "errors": 47,
    "workers": 423,
    "analysis": 4560,
    "estimates": 2186,
    "standards": 4242,
    "mail": 5355,
    "photos": 186,
    "metadata": 6864,
    "duplicates": 1215,
    "quality": 956,
    "sightings": 734,
    "checklist": 1866,
    "review_queue": 282,
    "packets": 329,
    "determinations": 847,
    "exuviae": 2065,
    "matching": 3218,
    "privacy": 444,
    "exports": 2844,
    "loose_photos": 200,
    "replies": 1700,
    "inbox": 1494,
    "report": 4740,
    "store": 6330,
    "pipeline": 6504,
    "bench": 6288,
    "demo": 2216,
    "desk": 3565,
    "cli": 2259,
}
LINES_OF_FILE = 400
LINES_OF_FUNCTION = 60
TEST_LINES_PER_LINE = 0.595  # goal: 0.6

# Exceptions of today, to be removed: each entry goes when its file or function is divided.
LONG_FILES: dict[str, int] = {}
LONG_FUNCTIONS: dict[str, int] = {}
CIRCLES: list[set[str]] = []


def count_lines(path: Path) -> int:
    return len(path.read_text(encoding="utf-8").splitlines())


@cache
def trees() -> dict[str, ast.Module]:
    """The syntax tree of each module, by its path below the package."""
    return {
        path.relative_to(ROOT).as_posix(): ast.parse(path.read_text(encoding="utf-8"))
        for path in sorted(ROOT.rglob("*.py"))
    }


@cache
def lines_of_packages() -> Counter[str]:
    found: Counter[str] = Counter()
    for path in ROOT.rglob("*.py"):
        top = path.relative_to(ROOT).parts[0].removesuffix(".py")
        found[top] += count_lines(path)
    del found["__init__"]
    return found


def lines_of_functions() -> dict[str, int]:
    """Lines of every function; a docstring is no line, since published methods need long ones."""
    return {
        f"{name}:{node.name}": (node.end_lineno or node.lineno) - node.lineno + 1 - said(node)
        for name, tree in trees().items()
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
    }


def said(node: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """Lines of the docstring."""
    if ast.get_docstring(node) is None:
        return 0
    first = node.body[0]
    return (first.end_lineno or first.lineno) - first.lineno + 1


def long_functions() -> dict[str, int]:
    return {name: n for name, n in lines_of_functions().items() if n > LINES_OF_FUNCTION}


def long_files() -> dict[str, int]:
    sizes = {p.relative_to(ROOT).as_posix(): count_lines(p) for p in ROOT.rglob("*.py")}
    return {name: n for name, n in sizes.items() if n > LINES_OF_FILE}


def test_lines() -> int:
    return sum(count_lines(path) for path in TESTS.rglob("*.py"))


test_lines.__test__ = False  # type: ignore[attr-defined]


def imports_of_modules() -> dict[str, set[str]]:
    """Each module and the modules that it imports, wherever in the file the import stands."""
    parsed = {name.removesuffix(".py").replace("/", "."): tree for name, tree in trees().items()}
    parsed = {name.removesuffix(".__init__"): tree for name, tree in parsed.items()}
    graph: dict[str, set[str]] = {name: set() for name in parsed}
    for name, tree in parsed.items():
        for node in ast.walk(tree):
            for target in _targets(node, parsed):
                if target in parsed and target != name:
                    graph[name].add(target)
    return graph


def _targets(node: ast.AST, known: Container[str]) -> list[str]:
    """Modules that an import statement names, without the package's own name."""
    named: list[str] = []
    if isinstance(node, ast.Import):
        named = [alias.name for alias in node.names]
    elif isinstance(node, ast.ImportFrom) and node.module:
        inside = [f"{node.module}.{alias.name}" for alias in node.names]
        modules = [name for name in inside if name.removeprefix("triage.") in known]
        named = [*modules, *([node.module] if len(modules) < len(inside) else [])]
    return [name.removeprefix("triage.") for name in named if name.startswith("triage.")]


def circles(graph: dict[str, set[str]]) -> list[set[str]]:
    """Sets of modules that reach each other by imports."""
    reached = {name: _reach(graph, name) for name in graph}
    found = {frozenset(b for b in reached[a] if a in reached[b]) for a in graph if a in reached[a]}
    return sorted((set(circle) for circle in found), key=sorted)


def _reach(graph: dict[str, set[str]], start: str) -> set[str]:
    seen: set[str] = set()
    waiting = list(graph[start])
    while waiting:
        name = waiting.pop()
        if name not in seen:
            seen.add(name)
            waiting.extend(graph[name])
    return seen


def figures() -> list[str]:
    """The figures of the tree, a line each."""
    packages, functions = lines_of_packages(), sorted(lines_of_functions().values())
    product = sum(packages.values())
    share = [functions[int(len(functions) * part)] for part in (0.5, 0.9, 0.99)]
    return [
        f"{product} lines of product, {test_lines()} of tests, {test_lines() / product:.2f} a line",
        *(f"  {name:16}{packages[name]:6} of {most}" for name, most in LINES_OF_PACKAGE.items()),
        f"{len(functions)} functions: median {share[0]}, 90 % {share[1]}, 99 % {share[2]} lines",
        f"functions over {LINES_OF_FUNCTION} lines: {long_functions() or 'none'}",
        f"files over {LINES_OF_FILE} lines: {long_files() or 'none'}",
        f"circles of imports: {circles(imports_of_modules()) or 'none'}",
    ]


@pytest.fixture(scope="module", autouse=True)
def _print_the_figures() -> None:
    print("\n".join(figures()))


def test_tests_that_share_something_costly_stay_in_one_process(request: pytest.FixtureRequest):
    """All would pass in twice the time where pytest-xdist does not keep groups (conftest.py)."""
    assert "PYTEST_XDIST_WORKER" not in os.environ or "@test_house" in request.node.nodeid


def test_every_package_has_a_budget():
    assert set(lines_of_packages()) <= set(LINES_OF_PACKAGE)


@pytest.mark.parametrize("package", LINES_OF_PACKAGE)
def test_a_package_stays_within_its_budget(package: str):
    assert lines_of_packages()[package] <= LINES_OF_PACKAGE[package]


def test_no_file_is_too_long_to_read():
    assert {n: k for n, k in long_files().items() if k > LONG_FILES.get(n, 0)} == {}


def test_a_docstring_is_no_line_of_its_function():
    (node,) = ast.parse('def f():\n    """Two\n    lines."""\n    return 1\n').body
    assert isinstance(node, ast.FunctionDef)
    assert said(node) == 2


def test_no_function_is_too_long_to_see():
    assert {n: k for n, k in long_functions().items() if k > LONG_FUNCTIONS.get(n, 0)} == {}


def test_no_two_modules_import_each_other():
    new = [c for c in circles(imports_of_modules()) if not any(c <= known for known in CIRCLES)]
    assert new == []


def test_the_circle_finder_finds_a_circle_and_only_that():
    graph = {"a": {"b"}, "b": {"c"}, "c": {"b"}, "d": {"a"}}
    assert circles(graph) == [{"b", "c"}]


CALLED_FROM_OUTSIDE = {
    *("list_commands", "collect_usage_pieces", "format_options"),  # typer asks for them
    "PAGES_OF_THE_SURVEY",  # modules that add their pages when they are imported
}


def names_made() -> Iterator[tuple[str, str]]:
    """What modules and classes name, with the place; what a decorator registers is used by it."""
    for module, tree in trees().items():
        for node in ast.walk(tree):
            if isinstance(node, ast.FunctionDef | ast.ClassDef):
                if not node.decorator_list or isinstance(node, ast.ClassDef):
                    yield f"{module}:{node.lineno}", node.name
            elif isinstance(node, ast.Assign) and node in tree.body:
                for target in node.targets:
                    if isinstance(target, ast.Name):
                        yield f"{module}:{node.lineno}", target.id


def test_nothing_in_the_product_is_there_for_tests_alone():
    """A name that the product speaks once is never used there, be it in a page or a script."""
    spoken: Counter[str] = Counter()
    for path in ROOT.rglob("*"):
        if path.suffix in (".py", ".html", ".js"):
            spoken.update(re.findall(r"\w+", path.read_text(encoding="utf-8")))
    unused = [
        f"{place} {name}"
        for place, name in names_made()
        if spoken[name] == 1 and not name.startswith("__") and name not in CALLED_FROM_OUTSIDE
    ]
    assert unused == []


def test_the_tree_has_its_tests():
    assert test_lines() / sum(lines_of_packages().values()) >= TEST_LINES_PER_LINE


if __name__ == "__main__":
    print("\n".join(figures()))


def test_no_two_test_files_share_a_name():
    """Test modules are imported by their bare name: of two alike, one would hide the other."""
    names = [
        path.name for path in Path(__file__).parent.rglob("*.py") if path.name != "conftest.py"
    ]
    assert sorted(name for name in set(names) if names.count(name) > 1) == []
