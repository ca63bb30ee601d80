"""Loose photos, good and bad, made here; each gets its row."""

from __future__ import annotations

import hashlib
import io
import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import skimage.data
from PIL import Image
from tests_support import csv_rows

from triage.analysis import images
from triage.cli import main
from triage.exports import measured
from triage.exports.tables import csv_bytes
from triage.loose_photos import measuring
from triage.quality.examination import examine_content


def picture(path: Path, *, size: tuple[int, int] = (320, 240), orientation: int = 1) -> Path:
    generator = np.random.default_rng(5)
    small = generator.integers(0, 255, (size[1] // 8, size[0] // 8, 3), dtype=np.uint8)
    exif = Image.Exif()
    exif[0x0112] = orientation
    Image.fromarray(small).resize(size).save(path, exif=exif)
    return path


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    inside = tmp_path / "photos"
    (inside / "pond").mkdir(parents=True)
    picture(inside / "b.jpg", orientation=6)
    picture(inside / "pond" / "a.png")
    picture(inside / "pond" / "no_suffix.png").rename(inside / "pond" / "no_suffix")
    (inside / "cut.jpg").write_bytes((inside / "b.jpg").read_bytes()[:900])
    (inside / "empty.heic").write_bytes(b"")
    (inside / "notes.txt").write_text("no photo")
    return inside


def test_every_photo_of_a_folder_gets_a_row_and_nothing_else(folder: Path) -> None:
    rows = list(measuring.measure_paths([folder], processes=0))
    assert [Path(str(row["file"])).as_posix() for row in rows] == [
        "b.jpg",
        "cut.jpg",
        "empty.heic",
        "pond/a.png",
        "pond/no_suffix",
    ]
    assert [bool(row["problem"]) for row in rows] == [False, True, True, False, False]


def test_a_row_has_the_columns_in_order_and_plain_values(folder: Path) -> None:
    row = next(measuring.measure_paths([folder / "b.jpg"], processes=0))
    assert tuple(row) == measured.COLUMNS
    assert row["file"] == str(folder / "b.jpg")
    assert row["sha256"] == hashlib.sha256((folder / "b.jpg").read_bytes()).hexdigest()
    assert (row["width"], row["height"], row["orientation"]) == (240, 320, 6)
    views = [
        float(row[f"p_{view}"]) for view in ("dorsal", "lateral", "anterior", "oblique", "other")
    ]
    assert sum(views) == pytest.approx(1, abs=1e-5)
    assert all(type(value) in (str, int, float) for value in row.values())
    for name in ("odonate", "focus", "exposure", "usability", "box_x0", "box_y1"):
        assert 0 <= float(row[name]) <= 1
    assert len(str(row["phash"])) == 64


def test_what_cannot_be_read_says_why_and_keeps_its_digest(folder: Path) -> None:
    row = next(measuring.measure_paths([folder / "cut.jpg"], processes=0))
    assert row["sha256"]
    assert row["odonate"] == row["focus"] == row["phash"] == ""
    assert "Ask the sender" in str(row["problem"])
    missing = next(measuring.measure_paths([folder / "gone.jpg"], processes=0))
    assert "no such file" in str(missing["problem"])


def test_processes_change_nothing(folder: Path) -> None:
    told: list[tuple[str, int, int]] = []
    alone = list(measuring.measure_paths([folder], processes=0))
    together = list(
        measuring.measure_paths([folder], processes=2, progress=lambda *done: told.append(done))
    )
    assert together == alone
    assert told == [("examining", done, 5) for done in range(1, 6)]


def test_one_process_is_one_beside_the_program_which_no_photo_can_hang(
    folder: Path, monkeypatch, capsys
) -> None:
    def hang(*_: object, **__: object) -> None:
        raise AssertionError("a photo was examined in the program's own process")

    monkeypatch.setattr(measuring, "examine_content", hang)
    assert main(["measure", str(folder / "b.jpg"), "--json", "--processes", "1"]) == 0
    (row,) = json.loads(capsys.readouterr().out)
    assert (row["width"], row["problem"]) == (240, "")


def test_csv_and_json_carry_the_same_rows(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    table = tmp_path / "measured.csv"
    assert main(["measure", str(folder), "--csv", str(table), "--json"]) == 0
    listed = json.loads(capsys.readouterr().out)
    assert [{key: str(value) for key, value in row.items()} for row in listed] == csv_rows(table)


def test_no_cell_is_a_formula() -> None:
    row = measured.row_with(
        file="=1+1", make="@sum", model=" =1+1", offset_time="+02:00", gps_longitude=-3.5
    )
    (read,) = csv_rows(csv_bytes(measured.COLUMNS, [row]))
    assert (read["file"], read["make"], read["model"]) == ("'=1+1", "'@sum", "' =1+1")
    assert (read["offset_time"], read["gps_longitude"]) == ("+02:00", "-3.5")


def test_a_preview_is_upright_small_and_bare(tmp_path: Path) -> None:
    path = picture(tmp_path / "large.jpg", size=(1600, 800), orientation=8)
    examined = examine_content(path.read_bytes())
    preview = Image.open(io.BytesIO(examined.preview))
    assert preview.size == (256, 512)
    assert dict(preview.getexif()) == {}
    assert (examined.photo.width, examined.photo.height) == (800, 1600)


def test_a_row_says_the_kind_the_body_and_further_insects():
    content = images.as_jpeg(skimage.data.coffee())
    examined = examine_content(content)
    assert examined.measurement is not None
    two = replace(
        examined.measurement,
        kind="pair",
        body_box=(0.1, 0.2, 0.3, 0.4),
        other_boxes=((0.5, 0.5, 0.75, 1.0), (0.0, 0.0, 0.25, 0.25)),
    )
    row = measured.row_of(replace(examined, measurement=two))
    assert row["kind"] == "pair"
    assert [row[f"body_{side}"] for side in ("x0", "y0", "x1", "y1")] == [0.1, 0.2, 0.3, 0.4]
    assert row["other_boxes"] == "0.5000;0.5000;0.7500;1.0000 0.0000;0.0000;0.2500;0.2500"
    without = measured.row_of(replace(examined, measurement=replace(two, body_box=None)))
    assert without["body_x0"] == ""
