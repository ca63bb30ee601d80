"""Loose files and folders grouped: names, exact copies, bursts by Exif, and what cannot be read."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from pictures_made import scene
from PIL import Image
from tests_support import NOW

from triage.loose_photos.copies import group_files
from triage.pipeline import receive
from triage.pipeline.examine import examine
from triage.store import copies, photos
from triage.store.connection import create_survey, open_survey


def save(path: Path, rgb: np.ndarray, *, taken: str = "", quality: int = 92) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    exif = Image.Exif()
    if taken:
        exif[0x010F], exif[0x0110] = "Maker", "Model"
        exif.get_ifd(0x8769)[0x9003] = taken
    Image.fromarray(rgb).save(path, quality=quality, exif=exif)


def test_a_folder_is_searched_to_the_bottom_and_named_from_its_top(tmp_path):
    save(tmp_path / "a.jpg", scene(1))
    save(tmp_path / "sub" / "deep" / "b.jpg", scene(1)[::2, ::2], quality=60)
    save(tmp_path / "sub" / "c.jpg", scene(2))
    (tmp_path / "list.csv").write_text("no picture")
    found = group_files([tmp_path])
    assert found == {
        "groups": [
            {
                "kind": "copy",
                "files": ["a.jpg", "sub/deep/b.jpg"],
                "best": "a.jpg",
                "evidence": "resized to 50%",
            }
        ],
        "problems": [],
    }


def test_the_same_bytes_are_copies_and_a_file_given_twice_is_one(tmp_path):
    save(tmp_path / "a.jpg", scene(1))
    (tmp_path / "b.jpg").write_bytes((tmp_path / "a.jpg").read_bytes())
    (group,) = group_files([tmp_path, tmp_path / "b.jpg"])["groups"]
    assert (group["files"], group["evidence"]) == (["a.jpg", "b.jpg"], "same bytes")


def test_files_are_named_as_given_and_clashing_folders_by_their_path(tmp_path):
    save(tmp_path / "one" / "x.jpg", scene(1))
    save(tmp_path / "two" / "x.jpg", scene(1)[:, ::-1])
    loose = tmp_path / "y.jpg"
    save(loose, np.rot90(scene(1)))
    (group,) = group_files([tmp_path / "one", tmp_path / "two", loose])["groups"]
    assert group["files"] == sorted(
        [(tmp_path / "one/x.jpg").as_posix(), (tmp_path / "two/x.jpg").as_posix(), str(loose)]
    )


def test_frames_seconds_apart_are_a_burst_and_their_copies_a_group_beside_it(tmp_path):
    save(tmp_path / "1.jpg", scene(1), taken="2026:06:01 10:00:00")
    save(tmp_path / "2.jpg", scene(2), taken="2026:06:01 10:00:09")
    save(tmp_path / "2-small.jpg", scene(2)[::2, ::2])
    found = group_files([tmp_path])["groups"]
    assert [(each["kind"], each["files"]) for each in found] == [
        ("copy", ["2-small.jpg", "2.jpg"]),
        ("burst", ["1.jpg", "2.jpg"]),
    ]
    assert found[0]["best"] == "2.jpg"
    assert found[1]["evidence"] == "same camera, 9 s apart"


def test_orientation_by_tag_and_by_pixels_is_one_picture(tmp_path):
    save(tmp_path / "upright.jpg", scene(3))
    tagged = Image.Exif()
    tagged[0x0112] = 6  # shown after a quarter turn clockwise
    lying = Image.fromarray(np.rot90(scene(3)))
    lying.save(tmp_path / "tagged.jpg", exif=tagged, quality=92)
    (group,) = group_files([tmp_path])["groups"]
    assert group["files"] == ["tagged.jpg", "upright.jpg"]
    assert "turned" not in group["evidence"]


def test_what_cannot_be_read_is_reported_and_the_others_go_on(tmp_path):
    save(tmp_path / "a.jpg", scene(1))
    save(tmp_path / "b.png", scene(1))
    (tmp_path / "broken.jpg").write_bytes(b"\xff\xd8\xff\xe0 nothing more")
    (tmp_path / "empty.png").touch()
    found = group_files([tmp_path, tmp_path / "missing.jpg"])
    assert [each["files"] for each in found["groups"]] == [["a.jpg", "b.png"]]
    named = {each["file"] for each in found["problems"]}
    assert named == {"broken.jpg", "empty.png", str(tmp_path / "missing.jpg")}
    assert all(each["problem"] and each["next_step"] for each in found["problems"])


def test_progress_tells_of_reading_and_of_comparing_to_their_ends(tmp_path):
    for seed in range(3):
        save(tmp_path / f"{seed}.jpg", scene(seed))
    seen: list[tuple[str, int, int | None]] = []
    group_files([tmp_path], progress=lambda what, done, total: seen.append((what, done, total)))
    assert seen == [(what, done, 3) for what in ("reading", "comparing") for done in (1, 2, 3)]


@pytest.mark.parametrize("paths", [[], ["empty"]])
def test_nothing_gives_no_groups(tmp_path, paths):
    (tmp_path / "empty").mkdir()
    assert group_files([tmp_path / each for each in paths]) == {"groups": [], "problems": []}


def test_loose_files_and_a_survey_have_the_same_copies_and_best_ones(tmp_path):
    folder = tmp_path / "photos"
    save(folder / "full.jpg", scene(1), taken="2026:06:01 10:00:00")
    save(folder / "small.jpg", scene(1)[::2, ::2])
    save(folder / "cut.png", scene(1)[20:-20, 30:])
    save(folder / "stranger.jpg", scene(2))
    create_survey(tmp_path / "survey")
    with open_survey(tmp_path / "survey") as survey:
        receive.take_in(survey, [folder], now=NOW)
        examine(survey, now=NOW, processes=0)
        names = {
            one.photo: one.file_name for one in photos.appearances(survey, photos.load(survey))
        }
        groups = copies.groups(survey, "copy")
    (group,) = group_files([folder])["groups"]
    assert sorted(names[photo] for photo in groups) == group["files"]
    assert [names[photo] for photo, (_, best) in groups.items() if best] == [group["best"]]
