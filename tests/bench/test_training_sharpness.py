"""What the network that reads blur is fitted to: altered parts of a photo of scikit-image."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import scipy.stats
import skimage.data
from PIL import Image

from triage.analysis import sharpness
from triage.bench.labels import Labelled
from triage.bench.out_of_fold import box_of, out_of_fold, row_of
from triage.bench.training.sharpness import LEAST, MOST, PARTS, parts_of

COFFEE = Labelled(
    file="coffee.png", folder=Path("."), kind="adult", source="", group="",
    odonate=True, suborder="", view="", sure=True,
    box=(0.2, 0.2, 0.8, 0.8), body_box=None, focus="sharp", notes="",
)  # fmt: skip


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    Image.fromarray(skimage.data.coffee()).save(tmp_path / "coffee.png")
    return tmp_path


def test_parts_are_the_same_at_every_run_and_blurred_within_bounds(folder: Path) -> None:
    seen, blur = parts_of((replace(COFFEE, folder=folder), 3))
    again, same = parts_of((replace(COFFEE, folder=folder), 3))
    assert (seen, blur) == (again, same)
    assert PARTS * 0.8 < len(seen) == len(blur) <= PARTS
    assert all(sigma == 0 or LEAST <= sigma <= MOST for sigma in blur)
    assert {sigma == 0 for sigma in blur} == {True, False}
    assert parts_of((replace(COFFEE, folder=folder), 4)) != (seen, blur)


def test_the_shipped_network_reads_the_blur_of_parts_it_never_saw(folder: Path) -> None:
    """The photo is none of the training's; noise, JPEG and shrinking are drawn with the parts."""
    seen, blur = parts_of((replace(COFFEE, folder=folder), 0))
    network = sharpness.shipped_network()
    read = [network.log_blur(sharpness.Evidence(**_named(one))) for one in seen]
    assert scipy.stats.spearmanr(read, blur).statistic > 0.9
    error = np.abs(np.array(read) - np.log(np.array(blur) + sharpness.OFFSET))
    assert np.median(error) < np.log(1.3)


def _named(values: tuple[float, ...]) -> dict[str, float]:
    return dict(zip(sharpness.Evidence.__dataclass_fields__, values, strict=True))


def test_a_photo_that_is_new_has_no_row_and_boxes_of_the_table_are_read(folder: Path) -> None:
    assert row_of((folder / "coffee.png").read_bytes()) is None
    row = next(iter(out_of_fold().values()))
    assert box_of(row["body_box"])[0] < box_of(row["body_box"])[2]
