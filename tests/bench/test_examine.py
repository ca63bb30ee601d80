from __future__ import annotations

import pytest

from triage.analysis import images
from triage.bench.examine import bench_examine, textured_photo


def test_the_photo_made_on_the_spot_is_12_megapixels() -> None:
    header = images.read_header(textured_photo())
    assert (header.width, header.height, header.format) == (4000, 3000, "JPEG")


def test_the_cost_is_the_sum_of_its_steps() -> None:
    cost = bench_examine(rounds=1)
    assert cost.least_ms > cost.decode_ms > 0
    assert cost.examine_ms > cost.decode_ms
    assert cost.ratio == pytest.approx((cost.read_ms + cost.examine_ms) / cost.least_ms)


def test_no_rounds_are_refused() -> None:
    with pytest.raises(ValueError, match="at least 1"):
        bench_examine(rounds=0)
