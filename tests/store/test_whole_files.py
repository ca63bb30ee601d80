"""A file takes its name when it is whole; otherwise what lay there before lies there still."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from triage.store import whole_files


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


@pytest.mark.parametrize("alone", [False, True])
@pytest.mark.parametrize("before", [None, b"old"])
def test_what_is_written_replaces_what_lay_there(tmp_path: Path, alone: bool, before):
    path = tmp_path / "letter.eml"
    if before is not None:
        path.write_bytes(before)
    with whole_files.written(path, alone=alone) as part:
        part.write_bytes(b"new")
        assert (path.read_bytes() if path.exists() else None) == before
    assert path.read_bytes() == b"new"
    assert names(tmp_path) == ["letter.eml"]


@pytest.mark.parametrize("alone", [False, True])
@pytest.mark.parametrize("error", [OSError(28, "full"), KeyboardInterrupt(), ValueError("x")])
def test_a_failed_write_leaves_what_lay_there_and_nothing_else(tmp_path: Path, alone: bool, error):
    path = tmp_path / "letter.eml"
    path.write_bytes(b"old")

    def write() -> None:
        with whole_files.written(path, alone=alone) as part:
            part.write_bytes(b"half")
            raise error

    with pytest.raises(type(error)):
        write()
    assert path.read_bytes() == b"old"
    assert names(tmp_path) == ["letter.eml"]


def test_two_that_write_alone_do_not_meet(tmp_path: Path):
    path = tmp_path / "a.jpg"
    with whole_files.written(path, alone=True) as part:
        assert part.name == f".a.jpg.{os.getpid()}.{part.name.split('.')[-2]}.part"
        part.write_bytes(b"mine")
        with whole_files.written(path) as other:
            assert other.name == "a.jpg.part"
            other.write_bytes(b"theirs")
        assert path.read_bytes() == b"theirs"
    assert path.read_bytes() == b"mine"


@pytest.mark.parametrize(("mode", "fails"), [(0o600, True), (0o400, False)])
def test_a_refused_rename_is_let_pass_only_where_the_same_is_kept_read_only(
    tmp_path: Path, monkeypatch, mode: int, fails: bool
):
    path = tmp_path / "a.jpg"
    path.write_bytes(b"kept")
    path.chmod(mode)

    def refused(*_: object) -> None:
        raise PermissionError

    monkeypatch.setattr(os, "replace", refused)

    def write() -> None:
        with whole_files.written(path) as part:
            part.write_bytes(b"new")

    if fails:
        with pytest.raises(PermissionError):
            write()
    else:
        write()
    assert path.read_bytes() == b"kept"
    assert names(tmp_path) == ["a.jpg"]


def test_a_read_only_file_can_be_discarded_and_one_that_is_not_there(tmp_path: Path):
    path = tmp_path / "a.part"
    path.write_bytes(b"x")
    path.chmod(0o400)
    whole_files.discard(path)
    whole_files.discard(path)
    assert names(tmp_path) == []
