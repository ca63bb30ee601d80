"""Parts of photos and their JPEGs: sizes that hold, pictures that can be read."""

from __future__ import annotations

import io

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from triage.packets import fitting, is_key, key_of, read_key

fractions = st.floats(0, 1)


def box_of(a: float, b: float, c: float, d: float) -> fitting.Box:
    return min(a, b), min(c, d), max(a, b), max(c, d)


@given(
    st.builds(box_of, fractions, fractions, fractions, fractions),
    st.integers(1, 9000),
    st.integers(1, 9000),
)
def test_the_part_lies_in_the_photo_holds_the_insect_and_is_large_enough(
    box: fitting.Box, width: int, height: int
):
    x0, y0, x1, y1 = fitting.shown_part(box, width, height)
    assert 0 <= x0 < x1 <= width
    assert 0 <= y0 < y1 <= height
    assert max(x1 - x0, y1 - y0) >= min(fitting.LONG_SIDE, max(width, height)) - 1
    assert x0 <= box[0] * width + 1
    assert x1 >= box[2] * width - 1
    assert y0 <= box[1] * height + 1
    assert y1 >= box[3] * height - 1


@given(
    st.builds(box_of, fractions, fractions, fractions, fractions),
    st.integers(100, 9000),
    st.integers(100, 9000),
)
def test_a_box_within_the_part_means_the_same_pixels(box: fitting.Box, width: int, height: int):
    part = fitting.shown_part(box, width, height)
    inside = fitting.within_part(box, part, width, height)
    assert all(0.0 <= side <= 1.0 for side in inside)
    assert part[0] + inside[0] * (part[2] - part[0]) == pytest.approx(box[0] * width, abs=1.5)
    assert part[1] + inside[3] * (part[3] - part[1]) == pytest.approx(box[3] * height, abs=1.5)


@settings(max_examples=15)
@given(st.integers(1024, 200_000), st.integers(8, 700), st.integers(8, 700))
def test_a_jpeg_fits_its_bytes_and_says_its_size(most: int, width: int, height: int):
    noise = np.random.default_rng(width).integers(0, 256, (height, width, 3), dtype=np.uint8)
    jpeg, wide, high = fitting.jpeg_within(noise, most)
    assert len(jpeg) <= most or max(wide, high) <= 32
    assert Image.open(io.BytesIO(jpeg)).size == (wide, high)


def test_more_bytes_never_make_a_worse_picture():
    rows, columns = np.mgrid[0:400, 0:600]
    flat = np.stack([rows % 256, columns % 256, (rows * columns) % 256], axis=2).astype(np.uint8)

    def error(most: int) -> float:
        jpeg, wide, high = fitting.jpeg_within(flat, most)
        assert (wide, high) == (600, 400)
        return float(np.abs(np.asarray(Image.open(io.BytesIO(jpeg)), dtype=float) - flat).mean())

    assert error(400_000) <= error(60_000) <= error(45_000)


def test_too_few_bytes_are_refused():
    with pytest.raises(ValueError, match="hold no picture"):
        fitting.jpeg_within(np.zeros((4, 4, 3), dtype=np.uint8), 1023)


@given(st.integers(0, 16**8 - 1), st.integers(1, 9999))
def test_a_key_reads_back_as_a_person_may_have_changed_its_letters(packet: int, number: int):
    name = f"{packet:08x}"
    key = key_of(name, number)
    assert is_key(key)
    assert read_key(f" {key.upper()} ") == (name, number)


@pytest.mark.parametrize(
    "text", ["", "packet-", "packet-7f3a2c1-07", "packet-7f3a2c10-7", "3f29a1b2c4d5e6f7",
             "packet-7f3a2c10-07; drop table", "../packet-7f3a2c10-07"],
)  # fmt: skip
def test_other_texts_are_no_keys(text: str):
    assert not is_key(text)
    assert read_key(text) is None
