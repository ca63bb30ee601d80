"""Ten kills of each kind of work: repeated, it ends in the survey of work left in peace."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from crashing import KINDS

CRASHING = Path(__file__).parents[1] / "crashing.py"
pytestmark = pytest.mark.xdist_group("kills")


@pytest.fixture(scope="module")
def table() -> dict[str, list[str]]:
    """The table that the long form prints, by kind of work: writes, kills at one, at random.

    It runs in a process of its own: one that is forked beside the threads of other tests can wait
    for them without end.
    """
    asked = ["--kills", "10", "--messages", "3"]
    done = subprocess.run(
        [sys.executable, str(CRASHING), *asked],
        capture_output=True,
        text=True,
        check=False,
        timeout=900,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    rows = [[cell.strip() for cell in line.split("|")[1:-1]] for line in done.stdout.splitlines()]
    return {row[0]: row[1:4] for row in rows[2:]}


@pytest.mark.parametrize("kind", KINDS)
def test_work_killed_anywhere_and_repeated_ends_in_the_same_survey(
    kind: str, table: dict[str, list[str]]
):
    writes, at_writes, at_random = map(int, table[kind])
    assert (at_writes, at_random) == (5, 5)
    assert writes > 10
