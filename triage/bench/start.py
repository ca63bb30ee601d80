"""How long the program takes to show its help, over a bare interpreter."""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable

from triage.bench.running import medians

GOAL = 12  # starts of a bare interpreter that one help page may cost


def bench(*, rounds: int = 9) -> str:
    """Start both in turn and say the medians and their ratio."""
    steps = {
        "bare": _started("pass"),
        "help": _started("from triage.cli import main; main(['--help'])"),
    }
    spent = medians(steps, rounds, clock=time.perf_counter)
    return (
        f"bare interpreter {spent['bare'] * 1000:.0f} ms, help {spent['help'] * 1000:.0f} ms,"
        f" ratio {spent['help'] / spent['bare']:.1f} (goal: at most {GOAL})"
    )


def _started(code: str) -> Callable[[], object]:
    command = [sys.executable, "-c", code]
    return lambda: subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
