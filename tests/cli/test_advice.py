"""Every exit of the command line is a sentence: no traceback reaches a volunteer."""

from __future__ import annotations

import errno
import sqlite3
from pathlib import Path
from types import SimpleNamespace

import pytest

from triage import cli
from triage.cli.advice import advice_for
from triage.store import connection

MET = [
    (sqlite3.OperationalError("database is locked"), "another command is writing"),
    (sqlite3.OperationalError("database or disk is full"), "the disk is full"),
    (sqlite3.OperationalError("attempt to write a readonly database"), "can only be read"),
    (sqlite3.OperationalError("unable to open database file"), "permissions"),
    (sqlite3.DatabaseError("database disk image is malformed"), "restore a backup"),
    (sqlite3.DatabaseError("file is not a database"), "not a database"),
    (OSError(errno.ENOSPC, "No space left on device", "a.jpg"), "a.jpg: the disk is full"),
    (PermissionError(errno.EACCES, "Permission denied", "x"), "x: the file or folder"),
    (MemoryError(), "not enough memory"),
]


@pytest.mark.parametrize(("error", "words"), MET)
def test_errors_of_disk_and_database_say_what_to_do(error, words, tmp_path, monkeypatch, capsys):
    def fail(*_: object, **__: object) -> None:
        raise error

    monkeypatch.setattr(connection, "open_survey", fail)
    assert cli.main(["inbox", "--survey", str(tmp_path)]) == 1
    told = capsys.readouterr().err
    assert words in told
    assert words in advice_for(error)
    assert "Traceback" not in told


def test_a_fault_of_the_program_says_where_its_details_are_and_holds_no_words_of_mail(
    tmp_path, monkeypatch, capsys
):
    def fail(*_: object, **__: object) -> None:
        raise KeyError("ada@example.org")

    monkeypatch.setattr(connection, "open_survey", fail)
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    assert cli.main(["inbox", "--survey", str(tmp_path)]) == 1
    told = capsys.readouterr().err
    assert "Traceback" not in told
    (kept,) = tmp_path.glob("triage-*.txt")
    assert str(kept) in told
    text = kept.read_text()
    assert "KeyError" in text
    assert Path(__file__).name in text
    assert "ada@example.org" not in text + told


def test_a_database_that_another_command_writes_to_is_waited_for_and_then_told(
    walked, monkeypatch, capsys
):
    monkeypatch.setattr(connection, "connect", _impatient(connection.connect))
    with sqlite3.connect(walked / "survey.db", isolation_level=None) as other:
        other.execute("begin immediate")
        code = cli.main(["people", "--same", "a@x.org", "b@x.org", "--survey", str(walked)])
        other.execute("rollback")
    assert code == 1
    assert "Traceback" not in capsys.readouterr().err


@pytest.mark.parametrize(
    ("error", "free", "words"),
    [
        ("disk I/O error", 0, "the disk is full"),  # SQLite's words where it cannot make its files
        ("disk I/O error", 10**9, "Restore survey.db"),
        ("database is locked", 0, "another command is writing"),
    ],
)
def test_a_database_that_cannot_be_opened_is_called_damaged_only_if_nothing_else_hinders(
    error: str, free: int, words: str, walked: Path, monkeypatch, capsys
):
    def refuse(_: Path) -> None:
        raise sqlite3.OperationalError(error)

    monkeypatch.setattr(connection, "connect", refuse)
    monkeypatch.setattr(connection.shutil, "disk_usage", lambda _: SimpleNamespace(free=free))
    assert cli.main(["inbox", "--survey", str(walked)]) == 1
    assert words in capsys.readouterr().err


def _impatient(connect):
    def opened(path):
        made = connect(path)
        made.execute("pragma busy_timeout = 50")
        return made

    return opened
