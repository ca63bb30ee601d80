"""What every bench needs: processor time, steps in turn, a process of its own, a table of figures.

A ratio within one run travels between machines; seconds do not.
"""

from __future__ import annotations

import importlib
import json
import subprocess
import sys
import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import median
from typing import Any

import numpy as np

Step = Callable[[], object]


def seconds_of(step: Step, *, clock: Callable[[], float] = time.process_time) -> float:
    """Seconds that one step takes, of processor time unless another clock is given."""
    start = clock()
    step()
    return clock() - start


def medians(
    steps: Mapping[str, Step], rounds: int, *, clock: Callable[[], float] = time.process_time
) -> dict[str, float]:
    """Median seconds of each step, all in turn in every round, after one round to warm up.

    Raises
    ------
    ValueError
        If there are no rounds.
    """
    if rounds < 1:
        raise ValueError(f"rounds must be at least 1, got {rounds}")
    spent = [
        {name: seconds_of(step, clock=clock) for name, step in steps.items()}
        for _ in range(rounds + 1)
    ]
    return {name: median(one[name] for one in spent[1:]) for name in steps}


@dataclass(frozen=True, slots=True, kw_only=True)
class Spent:
    """What work in a process of its own gave, and what it took.

    ``seconds`` are of processor time, ``clock`` those on the wall, both without imports;
    ``peak_bytes`` is the most memory that the process held, 0 where the system does not tell.
    """

    result: Any
    seconds: float
    clock: float
    peak_bytes: int


def in_own_process(work: Callable[..., object], *arguments: object) -> Spent:
    """Run a function of a module alone, so that its memory is its own; it takes and gives JSON."""
    name, given = f"{work.__module__}:{work.__name__}", json.dumps(arguments, default=str)
    command = [sys.executable, "-m", "triage.bench.running", name, given]
    done = subprocess.run(command, check=True, capture_output=True, text=True)
    return Spent(**json.loads(done.stdout))


def _alone(name: str, given: str) -> dict[str, Any]:
    module, _, function = name.partition(":")
    work = getattr(importlib.import_module(module), function)
    arguments, spent, clock = json.loads(given), time.process_time(), time.perf_counter()
    result = work(*arguments)
    return {
        "result": result,
        "seconds": time.process_time() - spent,
        "clock": time.perf_counter() - clock,
        "peak_bytes": peak_bytes(),
    }


def peak_bytes() -> int:
    """The most memory that this process has held; 0 where the system does not tell.

    On Linux by proc(5): getrusage(2) also counts what the process that started this one once held.
    """
    status = Path("/proc/self/status")
    if status.exists():
        return 1024 * int(status.read_text().partition("VmHWM:")[2].split()[0])
    try:
        import resource
    except ImportError:  # Windows has no such module
        return 0
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return int(peak if sys.platform == "darwin" else peak * 1024)


def markdown(headings: Sequence[str], rows: Iterable[Sequence[object]]) -> list[str]:
    """A table as docs/ have it."""
    lines = ["| " + " | ".join(str(cell) for cell in row) + " |" for row in (headings, *rows)]
    lines.insert(1, "|---" * len(headings) + "|")
    return lines


def one_of_few(random: np.random.Generator, senders: int) -> int:
    """A sender's number: few send most, the k-th in proportion to 1 / k."""
    weights = 1 / np.arange(1, senders + 1)
    return int(np.searchsorted(np.cumsum(weights) / weights.sum(), random.random()))


if __name__ == "__main__":
    sys.stdout.write(json.dumps(_alone(*sys.argv[1:])))
