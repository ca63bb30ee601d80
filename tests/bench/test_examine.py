from __future__ import annotations

import importlib.util
from dataclasses import replace
from pathlib import Path

import pytest

from triage.analysis import images, subject, view
from triage.bench import examine
from triage.bench.examine import Cost, bench_examine, textured_photo


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
    grey, rgb = cost.leasts["integers"]
    assert grey > cost.grey_ms > 0
    assert rgb > cost.decode_ms > 0
    assert rgb - cost.decode_ms == pytest.approx(grey - cost.grey_ms)
    over = cost.over(cost.adult_ms)["integers"]
    assert over[0] == pytest.approx((cost.read_ms + cost.adult_ms) / grey)
    assert over[1] == pytest.approx((cost.read_ms + cost.adult_ms) / rgb)
    assert {"faces", "focus"} <= set(cost.stages)
    assert ("float" in cost.leasts) == (importlib.util.find_spec("onnx") is not None)


def test_the_least_in_float_is_told_only_where_it_was_measured() -> None:
    given = {"read_ms": 1.0, "sha256_ms": 1.0, "grey_ms": 20.0, "decode_ms": 30.0}
    cost = Cost(**given, backbone_ms=8.0, examine_ms=69.0, adult_ms=59.0, stages={})
    assert cost.over(cost.adult_ms) == {"integers": (2.0, 1.5)}
    assert "float not measured" in cost.lines()[0]
    cost = replace(cost, backbone_float_ms=18.0)
    assert cost.over(cost.adult_ms) == {"float": (1.5, 1.2), "integers": (2.0, 1.5)}
    assert cost.lines()[2].endswith("float 1.50 (1.20), integers 2.00 (1.50)")


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
