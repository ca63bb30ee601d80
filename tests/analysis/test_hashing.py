"""The 256-bit hash against closed forms, its laws, and the independent library imagehash."""

from __future__ import annotations

import cv2
import imagehash
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image
from scipy.fft import dctn

from triage.analysis import hashing

HASHES = st.binary(min_size=32, max_size=32).map(bytes.hex)


def scene(seed: int, height: int = 240, width: int = 320) -> np.ndarray:
    """Blobs of all sizes, as natural pictures have them (amplitude falls with frequency)."""
    random = np.random.default_rng(seed)
    grey = np.zeros((height, width))
    for cells in (2, 4, 8, 16, 32):
        coarse = random.normal(0, 1 / cells, (cells, cells))
        grey += cv2.resize(coarse, (width, height), interpolation=cv2.INTER_CUBIC)
    low, high = grey.min(), grey.max()
    return ((grey - low) / (high - low) * 255).astype(np.uint8)


def turned(grey: np.ndarray, orientation: int) -> np.ndarray:
    """In the order of `orientations_of_hashes`: mirrored first, then quarter turns clockwise."""
    start = grey[:, ::-1] if orientation >= 4 else grey
    return np.ascontiguousarray(np.rot90(start, -(orientation % 4)))


def test_an_unchanged_picture_has_distance_zero():
    assert hashing.hash_distance(hashing.phash256(scene(1)), hashing.phash256(scene(1))) == 0


def test_the_bits_are_those_of_an_independent_cosine_transform():
    grey = scene(2, 64, 64)
    block = dctn(grey.astype(float), norm="ortho")[1:17, 1:17]
    expected = np.packbits((block > np.median(block)).ravel()).tobytes().hex()
    assert hashing.phash256(grey) == expected


@pytest.mark.parametrize("orientation", range(8))
def test_a_stored_hash_alone_knows_its_orientations_within_a_few_bits(orientation):
    grey = scene(4)
    kept = hashing.pack_hashes([hashing.phash256(scene(5)), hashing.phash256(grey)])
    from_hash = hashing.orientations_of_hashes(kept)[1, orientation]
    from_pixels = hashing.pack_hashes([hashing.phash256(turned(grey, orientation))])
    assert hashing.hamming(from_pixels, from_hash)[0] <= 16


@given(st.lists(HASHES, min_size=1, max_size=5), HASHES)
def test_distances_equal_those_of_whole_numbers(many, one):
    codes = hashing.pack_hashes(many)
    found = hashing.hamming(codes, hashing.pack_hashes([one])[0]).tolist()
    assert found == [(int(each, 16) ^ int(one, 16)).bit_count() for each in many]


@given(HASHES, HASHES, HASHES)
def test_distance_is_symmetric_and_keeps_the_triangle(a, b, c):
    distance = hashing.hash_distance
    assert distance(a, b) == distance(b, a)
    assert distance(a, c) <= distance(a, b) + distance(b, c)


@given(st.lists(HASHES, max_size=4))
def test_packed_hashes_read_back(many):
    assert [code.tobytes().hex() for code in hashing.pack_hashes(many)] == many


@pytest.mark.parametrize("change", ["smaller", "brighter", "flatter", "blurred", "recompressed"])
def test_soft_changes_stay_within_twenty_bits_as_they_do_for_imagehash(change):
    """imagehash 4.3 `phash(hash_size=16)`: the same idea with another choice of coefficients."""
    grey = scene(5)
    other = {
        "smaller": lambda: cv2.resize(grey, None, fx=0.4, fy=0.4, interpolation=cv2.INTER_AREA),
        "brighter": lambda: np.clip(grey.astype(int) + 20, 0, 255).astype(np.uint8),
        "flatter": lambda: (grey * 0.6 + 50).astype(np.uint8),
        "blurred": lambda: cv2.GaussianBlur(grey, (0, 0), 1.5),
        "recompressed": lambda: cv2.imdecode(
            cv2.imencode(".jpg", grey, [cv2.IMWRITE_JPEG_QUALITY, 30])[1], cv2.IMREAD_GRAYSCALE
        ),
    }[change]()
    assert hashing.hash_distance(hashing.phash256(grey), hashing.phash256(other)) <= 20
    independent = [imagehash.phash(Image.fromarray(each), hash_size=16) for each in (grey, other)]
    assert independent[0] - independent[1] <= 40


def test_strangers_lie_near_half_the_bits():
    codes = hashing.pack_hashes([hashing.phash256(scene(seed)) for seed in range(10, 30)])
    distances = [hashing.hamming(codes[i + 1 :], codes[i]) for i in range(19)]
    everything = np.concatenate(distances)
    assert 118 <= everything.mean() <= 138
    assert everything.min() > 84


def test_a_flat_picture_has_an_empty_hash():
    flat = hashing.phash256(np.full((40, 60), 117, dtype=np.uint8))
    assert hashing.hash_is_empty(flat)
    assert not hashing.hash_is_empty(hashing.phash256(scene(1)))


@pytest.mark.parametrize(
    "wrong",
    [np.zeros((4, 4)), np.zeros((4, 4, 3), np.uint8), np.zeros((0, 4), np.uint8)],
    ids=["float", "colour", "empty"],
)
def test_other_arrays_are_refused(wrong):
    with pytest.raises(ValueError, match="uint8 array"):
        hashing.phash256(wrong)


def test_a_hash_of_other_length_is_refused():
    with pytest.raises(ValueError, match="64 hexadecimal digits"):
        hashing.pack_hashes(["ab"])


def test_codes_of_other_length_are_refused():
    with pytest.raises(ValueError, match="words"):
        hashing.hamming(np.zeros((2, 4), np.uint64), np.zeros(3, np.uint64))


@pytest.mark.parametrize("value", [0, 117, 255])
def test_content_is_what_a_border_encloses(value):
    inner = scene(6, 200, 300)
    framed = cv2.copyMakeBorder(inner, 30, 50, 20, 40, cv2.BORDER_CONSTANT, value=value)
    kept = hashing.content(framed)
    assert abs(kept.shape[0] - 200) <= 4
    assert abs(kept.shape[1] - 300) <= 4


def test_content_leaves_out_a_page_of_words():
    page = np.full((900, 500), 250, dtype=np.uint8)
    page[300:600] = cv2.resize(scene(7), (500, 300))
    for line in range(40, 900, 30):
        if not 290 <= line <= 620:
            font = cv2.FONT_HERSHEY_SIMPLEX
            cv2.putText(page, "some words of a message", (20, line), font, 0.6, (20,), 1)
    assert abs(hashing.content(page).shape[0] - 300) <= 8


def test_content_of_a_picture_without_border_or_of_a_flat_one_is_the_whole():
    assert hashing.content(scene(8)).shape == (240, 320)
    assert hashing.content(np.zeros((30, 40), np.uint8)).shape == (30, 40)
