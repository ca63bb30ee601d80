"""A killed export, photo pack or report is there whole or not at all, and can be made again."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from functools import partial
from pathlib import Path

import pytest
from killing import run_killed, spread
from tests_support import NOW, dump

from triage.pipeline import analysis, audit, publish
from triage.store.connection import open_survey


def export(folder: Path, to: Path) -> None:
    with open_survey(folder) as survey:
        publish.export(survey, to, now=NOW)


def photo_pack(folder: Path, to: Path) -> None:
    with open_survey(folder) as survey:
        publish.photo_pack(survey, to, now=NOW)


def report(folder: Path, to: Path) -> None:
    with open_survey(folder) as survey:
        analysis.report(survey, to, now=NOW)


def files_in(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file()
    }


def frozen(folder: Path) -> int:
    with open_survey(folder) as survey:
        return survey.connection.execute(
            "select count(*) from sightings where frozen_at is not null and"
            " identifier in (select sighting from exports)"
        ).fetchone()[0]


def killed_before_naming(
    write: Callable[[Path, Path], None], folder: Path, to: Path, writes: int
) -> Path:
    """Kill at the last write at which the folder has no name yet; returns what is left of it."""
    left = to.parent / f".{to.name}.unfinished"
    for at in range(writes, 0, -1):
        assert run_killed(partial(write, folder, to), at) == -at
        if left.exists():
            assert not to.exists()
            return left
        shutil.rmtree(to)
    raise AssertionError("no kill left anything")


@pytest.mark.parametrize(("write", "kills"), [(export, 12), (photo_pack, 8)])
def test_a_process_killed_at_any_write_leaves_a_whole_folder_or_none(
    write: Callable[[Path, Path], None], kills: int, walked_once: Path, tmp_path: Path
):
    whole = tmp_path / "whole"
    shutil.copytree(walked_once, whole)
    writes = run_killed(partial(write, whole, tmp_path / "finished" / "out"))
    expected, after = files_in(tmp_path / "finished" / "out"), dump(whole)
    told = frozen(whole)
    for at in spread(kills, writes):
        broken, to = tmp_path / f"at{at}", tmp_path / f"to{at}" / "out"
        shutil.copytree(walked_once, broken)
        assert run_killed(partial(write, broken, to), at) == -at
        if to.exists() and any(to.iterdir()):
            assert files_in(to) == expected
            assert frozen(broken) == told
            shutil.rmtree(to)
        write(broken, to)
        assert files_in(to) == expected
        assert [path.name for path in to.parent.iterdir()] == ["out"]
        assert dump(broken) == after


def test_what_a_killed_run_left_is_named_and_the_next_one_removes_it(walked: Path, tmp_path: Path):
    assert run_killed(partial(export, walked, tmp_path / "whole")) > 0  # it fixes the sightings
    writes = run_killed(partial(export, walked, tmp_path / "again"))
    found = killed_before_naming(export, walked, tmp_path / "first", writes)
    with open_survey(walked) as survey:
        assert any(str(found) in line for line in audit.check(survey, now=NOW).not_done)
    export(walked, tmp_path / "second")
    assert not found.exists()
    with open_survey(walked) as survey:
        assert not any(str(found) in line for line in audit.check(survey, now=NOW).not_done)


def test_a_report_killed_while_it_is_written_leaves_nothing_beside_the_next(
    walked: Path, tmp_path: Path
):
    left = tmp_path / ".out.unfinished" / "tables"
    left.mkdir(parents=True)
    (left / "half.csv").write_bytes(b"a,b")
    report(walked, tmp_path / "out")
    assert not list(tmp_path.glob(".out*"))
    assert not (tmp_path / "out" / "tables" / "half.csv").exists()


def test_only_what_this_program_left_is_removed(walked: Path, tmp_path: Path):
    from triage.store import notes, unfinished

    mine = tmp_path / "photographs"
    mine.mkdir()
    (mine / "a.jpg").write_bytes(b"mine")
    with open_survey(walked) as survey:
        notes.write(survey, f"unfinished folder {mine}", "written by somebody else")
        assert unfinished.clear_all(survey) == []
    assert (mine / "a.jpg").read_bytes() == b"mine"
