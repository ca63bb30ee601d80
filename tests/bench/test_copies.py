"""The bench on a few drawn pictures: every kind is made, found and counted as it says."""

from __future__ import annotations

import numpy as np
import pytest
from pictures_made import scene
from PIL import Image

from triage.bench import copies
from triage.bench.edits import KINDS, MOVED, cropped, letterboxed, moved
from triage.errors import SourceError


def test_there_are_38_kinds_and_each_makes_a_colour_picture_that_differs():
    assert len(KINDS) == 38
    original = scene(1)
    for kind, maker in (KINDS | MOVED).items():
        made = maker(original.copy(), np.random.default_rng(1))
        assert made.dtype == np.uint8, kind
        assert made.ndim == 3, kind
        assert made.shape != original.shape or not np.array_equal(made, original), kind


@pytest.mark.parametrize("lost", [0.05, 0.2, 0.5])
def test_a_crop_loses_the_share_it_says(lost):
    made = cropped(scene(1), lost, np.random.default_rng(1))
    assert made.size / scene(1).size == pytest.approx(1 - lost, abs=0.01)


@pytest.mark.parametrize("shape", [(300, 400), (400, 300), (200, 600)])
def test_a_letterbox_holds_the_whole_picture(shape):
    made = letterboxed(scene(1, *shape))
    assert made.shape[0] >= shape[0]
    assert made.shape[1] >= shape[1]
    sides = sorted(made.shape[:2])
    assert sides[1] / sides[0] == pytest.approx(16 / 9, abs=0.02)


def test_what_moved_is_the_middle_and_not_the_rim():
    original = scene(1)
    changed = np.abs(original.astype(int) - moved(original, 0.1, np.random.default_rng(1)))
    rim = np.concatenate([changed[:20].ravel(), changed[-20:].ravel()])
    assert changed[100:200, 100:300].mean() > 2 * rim.mean()


@pytest.fixture
def few_kinds(monkeypatch):
    kept = ("jpeg30", "crop30", "mirror", "screenshot")
    monkeypatch.setattr(copies, "KINDS", {kind: KINDS[kind] for kind in kept})
    monkeypatch.setattr(copies, "MOVED", {"middle moved by 10 %": MOVED["middle moved by 10 %"]})


def test_the_figures_count_what_was_made_and_found(tmp_path, few_kinds):
    for seed in range(5):
        Image.fromarray(scene(seed)).save(tmp_path / f"{seed}.png")
    (tmp_path / "broken.jpg").write_bytes(b"nothing")
    figures = copies.measure_copies(tmp_path)
    assert figures.photos == 5
    assert [each.made for each in figures.kinds] == [5] * 4
    assert [each.recall for each in figures.kinds] == [1.0] * 4
    assert [each.pairs for each in figures.kinds] == [5 * 4 + 5 * 4 // 2] * 4
    assert [each.false_joins for each in figures.kinds] == [0] * 4
    assert figures.originals_joined == ()
    assert figures.scenes[0].found == 0
    assert "| crop30 | 5 | 5 | 1.000 |" in figures.lines()
    assert "Mean recall 1.0000; least 1.000 (jpeg30)." in figures.lines()
    assert any(line.startswith("0 false joins in 120 pairs") for line in figures.lines())


def test_copies_among_the_photos_given_are_named(tmp_path, few_kinds):
    Image.fromarray(scene(1)).save(tmp_path / "a.png")
    Image.fromarray(scene(1)[:, ::-1].copy()).save(tmp_path / "b.png")
    figures = copies.measure_copies(tmp_path)
    assert [set(pair) for pair in figures.originals_joined] == [{"a.png", "b.png"}]
    assert sum(each.false_joins for each in figures.kinds) > 0


def test_a_folder_without_photos_is_refused(tmp_path):
    with pytest.raises(SourceError, match="fewer than two"):
        copies.measure_copies(tmp_path)
