"""Loose files: what is named, what a folder holds, and what each is called."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from triage.analysis import images
from triage.errors import SourceError
from triage.photos.loose_files import LooseFile, content_of, loose_files

JPEG = b"\xff\xd8\xff\xe0 only the beginning counts"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name in ("b.jpg", "a/z.JPG", "a/b/without_suffix", "notes.txt", "a/empty.png"):
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes({"notes.txt": b"words", "a/empty.png": b""}.get(name, JPEG))
    return tmp_path


def names(*paths: Path) -> list[str]:
    refused: list[str] = []
    found = [one.name for one in loose_files(paths, refused=lambda *what: refused.append(what[0]))]
    assert refused == []
    return found


def test_a_folder_gives_its_photos_by_suffix_or_first_bytes_sorted(folder):
    assert names(folder) == ["a/b/without_suffix", "a/empty.png", "a/z.JPG", "b.jpg"]


def test_a_file_that_is_named_itself_is_always_given(folder):
    assert names(folder / "notes.txt", folder / "gone.jpg") == [
        str(folder / "notes.txt"),
        str(folder / "gone.jpg"),
    ]


def test_a_name_of_an_older_system_is_shown_by_its_letters():
    assert names(Path("pond_\udcfc.jpg")) == ["pond_\u00fc.jpg"]


def test_each_file_is_given_once_under_its_first_name(folder):
    assert names(folder / "b.jpg", folder, folder / "a")[-1] == "a/z.JPG"
    assert len(names(folder, folder / "a", folder / "b.jpg")) == 4


def test_folders_with_the_same_names_are_told_apart(tmp_path):
    for where in ("one", "two"):
        (tmp_path / where).mkdir()
        (tmp_path / where / "x.jpg").write_bytes(JPEG)
    assert names(tmp_path / "one", tmp_path / "two") == [
        (tmp_path / where / "x.jpg").as_posix() for where in ("one", "two")
    ]


@pytest.mark.skipif(os.name != "posix", reason="pipes in folders are of POSIX")
def test_a_pipe_in_a_folder_is_passed_over(folder):
    os.mkfifo(folder / "pipe.jpg")
    assert "pipe.jpg" not in names(folder)


@pytest.mark.parametrize("name", ["gone.jpg", "a"])
def test_what_is_no_file_says_so(folder, name):
    with pytest.raises(SourceError, match="no such file"):
        content_of(LooseFile(name, folder / name))


def test_a_file_above_the_limit_is_not_read(folder, monkeypatch):
    monkeypatch.setattr(images, "MAX_BYTES", 10)
    with pytest.raises(SourceError, match="larger than"):
        content_of(LooseFile("b.jpg", folder / "b.jpg"))


def test_a_link_out_of_a_folder_is_passed_over_and_said(folder, tmp_path_factory):
    outside = tmp_path_factory.mktemp("elsewhere")
    (outside / "secret.jpg").write_bytes(JPEG)
    (folder / "again.jpg").symlink_to(folder / "b.jpg")
    (folder / "out.jpg").symlink_to(outside / "secret.jpg")
    (folder / "album").symlink_to(outside)
    said: list[tuple[str, ...]] = []
    found = loose_files([folder], refused=lambda *what: said.append(what))
    assert not {"out.jpg", "secret.jpg"} & {one.path.name for one in found}
    assert {Path(name).name for name, _, _ in said} == {"album", "out.jpg"}
    assert names(folder / "out.jpg") == [str(folder / "out.jpg")]  # whoever names it means it
