"""A real scheduler and two real workers, one of which dies while it measures photos."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from tests_support import DEMO, NOW, dump

from triage.cli import main
from triage.demo.walk import import_tables
from triage.errors import SourceError
from triage.pipeline import examine, receive
from triage.store.connection import Survey, create_survey, open_survey
from triage.workers import cluster
from triage.workers.cluster import Cluster


@dataclass(frozen=True)
class Machines:
    address: str
    workers: tuple[subprocess.Popen[bytes], ...]


@pytest.fixture
def machines(tmp_path: Path) -> Iterator[Machines]:
    """A scheduler and two workers, each a process with one thread, as on machines of their own."""
    told = tmp_path / "scheduler.json"
    common = {
        "cwd": tmp_path,
        "env": os.environ | {"PYTHONPATH": os.pathsep.join(p for p in sys.path if p)},
        "stdout": subprocess.DEVNULL,
        "stderr": subprocess.DEVNULL,
    }
    dask = [sys.executable, "-m", "dask"]
    scheduler = subprocess.Popen(
        [*dask, "scheduler", "--host", "127.0.0.1", "--port", "0", "--no-dashboard",
         "--scheduler-file", str(told)],
        **common,
    )  # fmt: skip
    while not (told.exists() and told.read_text().rstrip().endswith("}")):  # made, then written
        assert scheduler.poll() is None
        time.sleep(0.05)
    address = json.loads(told.read_text())["address"]
    worker = [*dask, "worker", address, "--no-nanny", "--nthreads", "1", "--no-dashboard"]
    workers = tuple(subprocess.Popen(worker, **common) for _ in range(2))
    yield Machines(address, workers)
    for process in (*workers, scheduler):
        process.kill()
        process.wait()


def wait_for_both(machines: Machines) -> None:
    from distributed import Client

    with Client(machines.address, set_as_default=False) as client:
        client.wait_for_workers(2, timeout=60)


@pytest.fixture(scope="module")
def received(small_inbox: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A survey whose mail is received and not yet examined; never to be changed."""
    folder = tmp_path_factory.mktemp("received") / "survey"
    create_survey(folder, title="Linnet Water Survey")
    with open_survey(folder) as survey:
        import_tables(survey, DEMO, now=NOW)
        receive.take_in(survey, [small_inbox], now=NOW)
    return folder


@pytest.fixture(scope="module")
def locally(received: Path, tmp_path_factory: pytest.TempPathFactory) -> list[str]:
    """The dump of that survey once it is examined on this machine."""
    folder = tmp_path_factory.mktemp("local") / "survey"
    shutil.copytree(received, folder)
    with open_survey(folder) as survey:
        examine.examine(survey, now=NOW, processes=0)
    return dump(folder)


@pytest.fixture
def folder(received: Path, tmp_path: Path) -> Path:
    """A copy of the received survey, to be examined by one test."""
    return Path(shutil.copytree(received, tmp_path / "survey"))


def test_a_worker_lost_in_mid_run_costs_nothing(
    folder: Path, machines: Machines, locally: list[str]
):
    wait_for_both(machines)

    def kill_one(stage: str, done: int, of: int | None) -> None:
        if stage == "examining" and done == 3:
            machines.workers[0].send_signal(signal.SIGKILL)

    with open_survey(folder) as survey:
        outcome = examine.examine(
            survey, now=NOW, workers=Cluster(address=machines.address), progress=kill_one
        )
    assert machines.workers[0].wait(10) == -signal.SIGKILL
    assert outcome.photos > 6
    assert dump(folder) == locally


def test_an_interrupted_run_resumes_on_the_cluster_and_here(
    folder: Path, machines: Machines, locally: list[str], stopping: Callable[[int], Any]
):
    on = Cluster(address=machines.address)
    with open_survey(folder) as survey:
        with stopping(3) as progress, pytest.raises(KeyboardInterrupt):
            examine.examine(survey, now=NOW, workers=on, progress=progress)
        assert photos_examined(survey) == 3
        by_url = survey.originals.as_uri()
        with stopping(3) as progress, pytest.raises(KeyboardInterrupt):
            examine.examine(survey, now=NOW, workers=on, originals_at=by_url, progress=progress)
        assert photos_examined(survey) == 6
        examine.examine(survey, now=NOW, processes=0)
        assert examine.examine(survey, now=NOW, workers=on).photos == 0
    assert dump(folder) == locally


def test_workers_that_do_not_see_the_originals_are_named_and_nothing_is_done(
    folder: Path, machines: Machines, capsys
):
    ended = main(
        ["examine", "--survey", str(folder), "--cluster", machines.address,
         "--originals-at", str(folder / "elsewhere")]
    )  # fmt: skip
    said = capsys.readouterr().err
    assert ended != 0
    assert "No such file" in said
    assert "same view of the originals" in said
    with open_survey(folder) as survey:
        assert photos_examined(survey) == 0


def test_a_worker_of_another_version_is_refused(folder: Path, machines: Machines, monkeypatch):
    monkeypatch.setattr(examine, "METHOD", "examination of tomorrow")
    with open_survey(folder) as survey, pytest.raises(SourceError, match="of tomorrow"):
        examine.examine(survey, now=NOW, workers=Cluster(address=machines.address))


def test_no_scheduler_is_said_in_a_sentence(folder: Path, monkeypatch):
    monkeypatch.setattr(cluster, "ANSWER_SECONDS", 0.2)
    with (
        open_survey(folder) as survey,
        pytest.raises(SourceError, match="no scheduler with a worker answered"),
    ):
        examine.examine(survey, now=NOW, workers=Cluster(address="tcp://127.0.0.1:9"))


def test_without_dask_the_sentence_says_how_to_install_it(folder: Path, monkeypatch):
    monkeypatch.setitem(sys.modules, "distributed", None)
    with (
        open_survey(folder) as survey,
        pytest.raises(SourceError, match=r"pip install 'odonata-triage\[cluster\]'"),
    ):
        examine.examine(survey, now=NOW, workers=Cluster(address="tcp://127.0.0.1:9"))


def test_a_kept_file_that_was_missing_is_looked_at_again(folder: Path):
    with open_survey(folder) as survey:
        lost = next(survey.originals.glob("??/*.jpg"))
        lost.rename(folder / "aside")
        assert examine.measure_new(survey, now=NOW)[1] == 1
        (folder / "aside").rename(lost)
        assert examine.measure_new(survey, now=NOW) == (1, 0)


def test_dask_is_not_loaded_until_it_is_used():
    code = "import sys, triage.workers.cluster; sys.exit('distributed' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def photos_examined(survey: Survey) -> int:
    found = survey.connection.execute("select count(*) from photos where examined_with != ''")
    return int(found.fetchone()[0])
