"""Format, lint and types of the whole tree, as part of the one test command."""

from __future__ import annotations

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
