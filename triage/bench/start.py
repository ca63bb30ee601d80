"""Nothing in, how long the program takes to show its help, over a bare interpreter, out."""

from __future__ import annotations

import statistics
import subprocess
import sys
import time
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class StartCost:
    """Medians in seconds, interleaved within one run; ``ratio`` is what counts (goal: 12)."""

    bare: float
    help: float

    @property
    def ratio(self) -> float:
        """How many starts of a bare interpreter one help page costs."""
        return self.help / self.bare


def bench(*, rounds: int = 9) -> StartCost:
    """Start both in turn, ``rounds`` times each."""
    code = "from triage.cli import main; main(['--help'])"
    bare, shown = [], []
    for _ in range(rounds):
        bare.append(_seconds("pass"))
        shown.append(_seconds(code))
    return StartCost(bare=statistics.median(bare), help=statistics.median(shown))


def _seconds(code: str) -> float:
    start = time.perf_counter()
    subprocess.run([sys.executable, "-c", code], check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - start
