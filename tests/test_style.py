"""Format, lint and types of the whole tree, as part of the one test command."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent


@pytest.mark.parametrize(
    "command",
    [
        ["ruff", "format", "--check", "triage", "tests"],
        ["ruff", "check", "triage", "tests"],
        ["mypy"],
    ],
    ids=["format", "lint", "types"],
)
def test_the_tree_passes(command: list[str]):
    done = subprocess.run(
        [sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.xdist_group("groups")
def test_tests_that_share_something_costly_stay_in_one_process(request: pytest.FixtureRequest):
    """All would pass in twice the time where pytest-xdist does not keep groups."""
    assert "PYTEST_XDIST_WORKER" not in os.environ or "@groups" in request.node.nodeid
