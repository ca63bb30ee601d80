from __future__ import annotations

from pathlib import Path

import pytest

from triage.analysis import images, subject, view
from triage.bench import examine
from triage.bench.examine import bench_examine, textured_photo


def test_the_photo_made_on_the_spot_is_12_megapixels() -> None:
    header = images.read_header(textured_photo())
    assert (header.width, header.height, header.format) == (4000, 3000, "JPEG")


def test_one_photo_shows_a_sure_adult_and_the_other_none() -> None:
    for insect in (True, False):
        photo = images.halved(images.decode(textured_photo(insect=insect)).rgb, 1024)
        typical = view.without_classes(subject.sight_of(photo).features)
        assert view.is_sure(typical, view.shipped_heads()) == insect


def test_the_cost_is_the_sum_of_its_steps() -> None:
    cost = bench_examine(rounds=1)
    assert cost.least_ms > cost.decode_ms > 0
    assert cost.least_grey_ms > cost.grey_ms > 0
    assert cost.least_ms - cost.decode_ms == pytest.approx(cost.least_grey_ms - cost.grey_ms)
    grey, rgb = cost.ratios["adult"]
    assert grey == pytest.approx((cost.read_ms + cost.adult_ms) / cost.least_grey_ms)
    assert rgb == pytest.approx((cost.read_ms + cost.adult_ms) / cost.least_ms)
    assert {"faces", "focus"} <= set(cost.stages)


def test_a_stage_that_holds_others_is_told_without_them() -> None:
    """By made figures: of measured ones the difference may fall below nothing on a busy machine."""
    networks = {
        "insect network, whole photo": 5.0,
        "insect network, close": 2.0,
        "class network": 3.0,
    }
    spent = networks | {"header": 0.5, examine.DECODE: 20.0, examine.SEEN: 14.0, "faces": 1.0}
    told = examine._apart(spent)
    assert told == spent | {examine.DECODE: 19.5, examine.SEEN: 4.0}


def test_two_processes_are_compared_with_one(tmp_path: Path, monkeypatch) -> None:
    monkeypatch.setattr(examine, "PHOTOS_A_CORE", 2)
    (tmp_path / "photo.jpg").write_bytes(textured_photo())
    faster, peak = examine._on_two_cores(tmp_path / "photo.jpg")
    assert faster > 0  # how much is a figure of the bench: it depends on what else runs
    assert 50e6 < peak < 400e6


def test_no_rounds_are_refused() -> None:
    with pytest.raises(ValueError, match="at least 1"):
        bench_examine(rounds=0)
