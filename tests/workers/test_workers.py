"""Workers are real processes here: they die, hang, lose their parent, as those of a run may."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from triage.workers.processes import Work, in_order


def doubled(number: int) -> int:
    if number == 7:
        os._exit(3)  # as a native decoder does that dies on a hostile file
    if number == 13:
        while True:  # as one does that never comes to an end
            time.sleep(0.01)
    if number == 17:
        raise KeyError("seventeen")
    return 2 * number


def lost(number: int) -> int:
    return -number


def late(number: int) -> int:
    return -100 * number


DOUBLED = Work(function=doubled, crashed=lost, overdue=late)


def test_results_come_in_order() -> None:
    inputs = list(range(6))
    for processes in (0, 1, 2, None):
        found = list(in_order(DOUBLED, inputs, processes=processes))
        assert found == [0, 2, 4, 6, 8, 10]
    assert list(in_order(DOUBLED, [])) == []


@pytest.mark.parametrize("inputs", [[7], [5, 6, 7, 8, 9], [7, 7, 7, 1], [1, 7]])
def test_only_the_input_that_kills_its_process_is_lost(inputs: list[int]) -> None:
    expected = [-7 if one == 7 else 2 * one for one in inputs]
    assert list(in_order(DOUBLED, inputs, processes=2)) == expected


@pytest.mark.parametrize("processes", [1, 2])
def test_an_input_that_takes_too_long_is_ended_and_the_others_go_on(processes: int) -> None:
    inputs = [13, 1, 2, 7, 13, 4]
    found = in_order(DOUBLED, inputs, processes=processes, seconds=3)
    assert list(found) == [-1300, 2, 4, -7, -1300, 8]


def hungry(megabytes: int) -> str:
    try:
        return f"{len(bytearray(megabytes * 1_000_000))} bytes"
    except MemoryError:
        return "too much"


@pytest.mark.skipif(sys.platform != "linux", reason="the memory of a process is limited on Linux")
def test_a_worker_is_not_given_memory_without_end() -> None:
    work = Work(function=hungry, crashed=lambda _: "ended", overdue=lambda _: "late")
    found = in_order(work, [300, 1500, 300], processes=1)
    assert list(found) == ["300000000 bytes", "too much", "300000000 bytes"]


def test_an_error_of_the_function_is_raised_here() -> None:
    with pytest.raises(KeyError, match="seventeen"):
        list(in_order(DOUBLED, [1, 17], processes=2))


def test_less_than_no_processes_are_refused() -> None:
    with pytest.raises(ValueError, match="at least 0"):
        list(in_order(DOUBLED, [1], processes=-1))


PARENT = """
import sys
sys.path[:0] = {path!r}
from test_workers import lost, noted
from triage.workers.processes import Work, in_order
if __name__ == "__main__":
    work = Work(function=noted, crashed=lost, overdue=lost)
    for _ in in_order(work, [{folder!r}] * 2, processes=2):
        pass
"""


def noted(folder: str) -> None:
    (Path(folder) / str(os.getpid())).touch()
    while True:
        time.sleep(0.01)


def runs(process: int) -> bool:
    try:
        state = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0]
    except OSError:
        return False
    return state != "Z"


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="only Linux has proc(5)")
def test_workers_end_with_the_process_that_started_them_even_when_it_is_killed(tmp_path: Path):
    script = tmp_path / "parent.py"
    folder = tmp_path / "noted"
    folder.mkdir()
    script.write_text(
        PARENT.format(path=[str(Path(__file__).parent), *sys.path], folder=str(folder))
    )
    with subprocess.Popen([sys.executable, str(script)]) as parent:
        while len(list(folder.iterdir())) < 2:
            assert parent.poll() is None
            time.sleep(0.05)
        parent.send_signal(signal.SIGKILL)
    workers = [int(path.name) for path in folder.iterdir()]
    while any(runs(worker) for worker in workers):  # the test's own limit of time would end this
        time.sleep(0.05)
