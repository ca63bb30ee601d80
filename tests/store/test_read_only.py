"""A survey on a stick that cannot be written to is looked at, never changed, and says why not."""

from __future__ import annotations

import ctypes
import io
import multiprocessing
import os
import shutil
import sqlite3
import warnings
from collections.abc import Iterator
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path

import pytest

from triage.cli import main


@pytest.fixture
def stick(walked: Path) -> Iterator[Path]:
    """A survey without a right to write anywhere in it."""
    shutil.rmtree(walked / "replies")
    every = [walked, *walked.rglob("*")]
    for path in every:
        path.chmod(0o555 if path.is_dir() else 0o444)
    yield walked
    for path in every:
        if path.exists():
            path.chmod(0o755 if path.is_dir() else 0o644)


def without_rights(*words: str) -> tuple[int, str]:
    """Exit code and words of a command that runs without the rights of an administrator."""
    context = multiprocessing.get_context("fork")
    receiving, sending = context.Pipe(duplex=False)
    child = context.Process(target=_run, args=(words, sending))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        child.start()
    code, told = receiving.recv()
    child.join()
    return code, told


def _run(words: tuple[str, ...], sending) -> None:
    if os.geteuid() == 0:  # an administrator's process may write anywhere: capset(2) ends that
        header, none = (ctypes.c_uint32 * 2)(0x20080522, 0), (ctypes.c_uint32 * 6)()
        assert ctypes.CDLL(None).capset(header, none) == 0
    told = io.StringIO()
    with redirect_stdout(told), redirect_stderr(told):
        code = main(list(words))
    sending.send((code, told.getvalue()))


def state_of(folder: Path) -> dict[str, int]:
    return {str(path): path.stat().st_mtime_ns for path in [folder, *folder.rglob("*")]}


@pytest.mark.parametrize(
    "words",
    [["queue"], ["inbox"], ["audit"], ["log"], ["photos"], ["sightings"], ["match"]],
    ids=lambda words: words[0],
)
def test_what_only_looks_works_and_writes_nothing(words: list[str], stick: Path):
    before = state_of(stick)
    code, told = without_rights(*words, "--survey", str(stick))
    assert (code, "Traceback" in told) == (0, False), told
    assert len(told) > 20
    assert state_of(stick) == before


@pytest.mark.parametrize(
    "words",
    [
        ["receive", "."],
        ["examine", "--processes", "1"],
        ["repair"],
        ["export", "--to", "elsewhere"],
    ],
    ids=lambda words: words[0],
)
def test_what_would_change_it_is_refused_in_a_sentence(
    words: list[str], stick: Path, tmp_path: Path, monkeypatch
):
    monkeypatch.chdir(tmp_path)
    before = state_of(stick)
    code, told = without_rights(*words, "--survey", str(stick))
    assert (code, "Traceback" in told) == (1, False), told
    assert "can only be read" in told
    assert state_of(stick) == before
    assert not (tmp_path / "elsewhere").exists()


def test_what_stood_in_the_log_of_a_copy_made_meanwhile_is_seen(walked: Path, tmp_path: Path):
    connection = sqlite3.connect(walked / "survey.db", isolation_level=None)
    connection.execute("pragma wal_autocheckpoint = 0")
    connection.execute("update actions set summary = 'written meanwhile' where id = 1")
    copy = tmp_path / "copy"
    shutil.copytree(walked, copy)
    connection.close()
    assert (copy / "survey.db-wal").stat().st_size
    (copy / "survey.db-shm").unlink()
    for path in [copy, *copy.rglob("*")]:
        path.chmod(0o555 if path.is_dir() else 0o444)
    code, told = without_rights("log", "--survey", str(copy))
    assert code == 0
    assert "written meanwhile" in told
    for path in [copy, *copy.rglob("*")]:
        path.chmod(0o755)
