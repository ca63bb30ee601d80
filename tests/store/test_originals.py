"""Files under their digest: whole, read-only, and nothing else."""

from __future__ import annotations

import hashlib
import os
import stat
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.errors import SurveyError
from triage.store import originals


def files(folder: Path) -> list[Path]:
    return [path for path in folder.rglob("*") if path.is_file()]


def test_content_is_kept_once_under_its_digest_and_reads_back(tmp_path: Path):
    name = originals.keep(tmp_path, b"a photo", media_type="image/png")
    assert name == hashlib.sha256(b"a photo").hexdigest()
    assert originals.keep(tmp_path, b"a photo", media_type="image/jpeg") == name
    assert [path.name for path in files(tmp_path)] == [f"{name}.png"]
    assert originals.content_of(tmp_path, name) == b"a photo"


def test_a_kept_file_is_read_only(tmp_path: Path):
    name = originals.keep(tmp_path, b"a photo")
    path = originals.path_of(tmp_path, name)
    assert path is not None
    assert not path.stat().st_mode & (stat.S_IWUSR | stat.S_IWGRP | stat.S_IWOTH)


@pytest.mark.parametrize("failing", ["fsync", "replace"])
def test_an_interrupted_write_leaves_nothing_under_the_digest(
    tmp_path: Path, monkeypatch, failing: str
):
    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, failing, stop)
    with pytest.raises(KeyboardInterrupt):
        originals.keep(tmp_path, b"a photo")
    monkeypatch.undo()
    assert files(tmp_path) == []
    name = originals.keep(tmp_path, b"a photo")
    assert originals.content_of(tmp_path, name) == b"a photo"


def test_the_half_that_a_killed_process_left_goes_when_the_file_is_kept(tmp_path: Path):
    name = hashlib.sha256(b"a photo").hexdigest()
    shelf = tmp_path / name[:2]
    shelf.mkdir()
    mine, other = (shelf / f".{name}.{process}.1.part" for process in (os.getpid(), "x"))
    for half in (mine, other):
        half.write_bytes(b"a ph")
    originals.keep(tmp_path, b"a photo")
    assert mine.exists()  # another thread may be writing it
    assert not other.exists()


def test_many_at_once_keep_one_file(tmp_path: Path):
    with ThreadPoolExecutor(8) as pool:
        names = set(pool.map(lambda _: originals.keep(tmp_path, b"same" * 9999), range(40)))
    assert len(names) == len(files(tmp_path)) == 1


def test_a_refused_rename_is_no_failure_when_the_file_is_there(tmp_path: Path, monkeypatch):
    replace = os.replace

    def as_windows_does(source: Path, target: Path) -> None:
        replace(source, target)
        Path(source).write_bytes(b"left")
        raise PermissionError

    monkeypatch.setattr(os, "replace", as_windows_does)
    originals.keep(tmp_path, b"a photo")
    assert len(files(tmp_path)) == 1


@given(st.text(max_size=70))
def test_no_other_name_leads_to_a_file(name: str):
    assert originals.path_of(Path(__file__).parent.parent, name) is None


@pytest.mark.parametrize("name", ["../" * 3 + "etc/passwd", "..", "", "ab", "*" * 64, "A" * 64])
def test_names_of_another_form_are_no_paths(tmp_path: Path, name: str):
    (tmp_path / "..x").mkdir()
    assert originals.path_of(tmp_path, name) is None
    with pytest.raises(SurveyError, match="the kept file is missing"):
        originals.content_of(tmp_path, name)


def test_removing_deletes_a_read_only_file_and_twice_is_no_error(tmp_path: Path):
    name = originals.keep(tmp_path, b"a photo")
    originals.remove(tmp_path, name)
    originals.remove(tmp_path, name)
    assert files(tmp_path) == []
