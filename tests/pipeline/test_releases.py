"""Releases written into a folder of their own, listed, packed, and never beyond that folder."""

from __future__ import annotations

import io
import zipfile
from datetime import timedelta
from pathlib import Path

import pytest
from tests_support import NOW

from triage.cli import main
from triage.errors import UnknownError
from triage.pipeline import analysis, publish
from triage.report import releases
from triage.store.connection import Survey


def test_an_export_is_written_listed_and_packed(survey: Survey):
    lines = analysis.release(survey, "export", now=NOW)
    again = analysis.release(survey, "export", now=NOW)
    assert lines[0] != again[0]  # nothing is written over
    found = releases.listed(survey.folder / releases.FOLDER)
    assert len(found) == 2
    assert all(one.files > 5 and one.lines for one in found)
    assert any("are left out" in line for line in found[0].lines)
    packed = io.BytesIO()
    releases.pack(survey.folder / releases.FOLDER, found[0].name, packed)
    with zipfile.ZipFile(packed) as archive:
        assert archive.testzip() is None
        assert len(archive.namelist()) == found[0].files
        assert all(name.startswith(f"{found[0].name}/") for name in archive.namelist())


@pytest.mark.parametrize("make", [publish.export, publish.photo_pack])
def test_with_its_day_a_release_is_made_anew_byte_for_byte_a_year_later(survey: Survey, make):
    day, later = NOW.date(), NOW + timedelta(days=366)
    for name, moment, given in (("a", NOW, None), ("b", later, day), ("c", later, None)):
        make(survey, survey.folder / name, day=given, now=moment)
    first, again, other = (contents(survey.folder / name) for name in "abc")
    assert again == first
    assert other.keys() == first.keys()
    assert other["README.txt"] != first["README.txt"]


def contents(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file()
    }


def test_a_day_to_come_is_refused(survey: Survey, capsys):
    folder = survey.folder
    command = ["export", "--to", str(folder / "x"), "--survey", str(folder)]
    assert main([*command, "--date", "2999-01-01"]) == 2
    assert main([*command, "--date", "1 May"]) == 2
    assert not (folder / "x").exists()
    assert "has not come" in capsys.readouterr().err


@pytest.mark.parametrize(
    "name", ["", "..", "../survey.toml", "export-2026/../..", "originals", "export-2-nowhere"]
)
def test_only_a_release_is_packed(survey: Survey, name: str):
    (survey.folder / releases.FOLDER).mkdir()
    with pytest.raises(UnknownError):
        releases.pack(survey.folder / releases.FOLDER, name, io.BytesIO())


def test_a_link_out_of_the_folder_is_not_followed(survey: Survey):
    analysis.release(survey, "photo-pack", now=NOW)
    [made] = releases.listed(survey.folder / releases.FOLDER)
    folder = survey.folder / releases.FOLDER / made.name
    try:
        (folder / "stray.txt").symlink_to(survey.folder / "survey.toml")
    except OSError:
        pytest.skip("this system makes no links")
    packed = io.BytesIO()
    releases.pack(survey.folder / releases.FOLDER, made.name, packed)
    with zipfile.ZipFile(packed) as archive:
        assert not [name for name in archive.namelist() if name.endswith("stray.txt")]


def test_an_unknown_kind_writes_nothing(survey: Survey):
    with pytest.raises(UnknownError):
        analysis.release(survey, "../export", now=NOW)
    assert releases.listed(survey.folder / releases.FOLDER) == []
