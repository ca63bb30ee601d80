"""Fixtures: surveys made once a session from the demo, copied for each test that changes one."""

from __future__ import annotations

import mailbox
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from tests_support import DEMO, NOW

from triage.demo.walk import import_tables
from triage.pipeline import walk
from triage.store.connection import Survey, create_survey, open_survey

FEW = 14  # messages of the small inbox: ordinary ones, a burst, a wrong clock, an exuvia, a figure


@pytest.fixture(scope="session")
def small_inbox(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The first messages of the demo inbox."""
    folder = tmp_path_factory.mktemp("inbox")
    whole = mailbox.mbox(DEMO / "inbox.mbox", create=False)
    path = folder / "small.mbox"
    few = mailbox.mbox(path)
    for key in list(whole.keys())[:FEW]:
        few.add(whole.get_bytes(key))
    few.close()
    whole.close()
    return path


@pytest.fixture(scope="session")
def walked_once(small_inbox: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A survey with tables imported and the small inbox walked; never to be changed."""
    folder = tmp_path_factory.mktemp("walked") / "survey"
    create_survey(folder, title="Linnet Water Survey")
    with open_survey(folder) as survey:
        import_tables(survey, DEMO, now=NOW)
    walk.run([small_inbox], folder, now=NOW, processes=0)
    return folder


@pytest.fixture
def walked(walked_once: Path, tmp_path: Path) -> Path:
    """A copy of the walked survey, to be changed by one test: copying the folder is the backup."""
    folder = tmp_path / "survey"
    shutil.copytree(walked_once, folder)
    return folder


@pytest.fixture
def survey(walked: Path) -> Iterator[Survey]:
    """The walked survey, open."""
    with open_survey(walked) as opened:
        yield opened


@contextmanager
def _stopping(after: int) -> Iterator[Callable[[str, int, int | None], None]]:
    calls = 0

    def progress(what: str, done: int, total: int | None) -> None:
        nonlocal calls
        calls += 1
        if calls == after:
            raise KeyboardInterrupt

    yield progress


@pytest.fixture
def stopping() -> Callable[[int], object]:
    """A progress callback that interrupts at its n-th call."""
    return _stopping


@pytest.fixture(scope="session")
def empty_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A survey in which nothing is; never to be changed. Its schema takes a while to make."""
    folder = tmp_path_factory.mktemp("empty") / "survey"
    create_survey(folder)
    return folder


@pytest.fixture
def empty(empty_once: Path, tmp_path: Path) -> Iterator[Survey]:
    """A copy of the survey in which nothing is, open."""
    shutil.copytree(empty_once, tmp_path / "survey")
    with open_survey(tmp_path / "survey") as opened:
        yield opened


@contextmanager
def tried(survey: Survey) -> Iterator[Survey]:
    """One example of a law: what it writes is gone afterwards."""
    survey.connection.execute("begin")
    try:
        yield survey
    finally:
        survey.connection.execute("rollback")
