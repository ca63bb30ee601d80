"""Large HEIF pictures are decoded tile by tile, and come out as the library gives them whole."""

from __future__ import annotations

import io

import numpy as np
import pillow_heif
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from triage.analysis import heif_grids, images
from triage.errors import SourceError


def tiled(width: int = 200, height: int = 152, *, orientation: int = 1, tile: int = 64) -> bytes:
    """A HEIF as phones write it: tiles, and the turn as a property of the whole."""
    coarse = np.random.default_rng(4).integers(0, 255, (5, 7, 3), dtype=np.uint8)
    picture = pillow_heif.from_pillow(Image.fromarray(coarse).resize((width, height)))
    exif = Image.Exif()
    exif[images.ORIENTATION] = orientation
    picture.info["exif"] = exif.tobytes()
    out = io.BytesIO()
    picture.save(out, quality=80, tile_size=tile)
    return out.getvalue()


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("reduced", [2, 8])
def test_tiles_give_what_the_library_gives_whole(orientation: int, reduced: int, monkeypatch):
    content = tiled(orientation=orientation)
    whole = images.decode(content)
    upright = (200, 152) if orientation < 5 else (152, 200)
    assert (whole.header.width, whole.header.height, whole.reduced) == (*upright, 1)
    monkeypatch.setattr(images, "FULL_PIXELS", 200 * 152 // reduced**2)
    asked: list[int] = []
    decoded = heif_grids.grid_pixels
    monkeypatch.setattr(
        images, "grid_pixels", lambda *given: (asked.append(given[2]), decoded(*given))[1]
    )
    smaller = images.decode(content)
    assert asked == [smaller.reduced] == [reduced]
    wide, high = (side // reduced for side in upright)
    assert smaller.rgb.shape == (high, wide, 3)
    expected = images.shrink(whole.rgb, max(wide, high))
    assert np.abs(smaller.rgb.astype(int) - expected).mean() < 1


def test_a_picture_in_one_piece_has_no_grid():
    assert heif_grids.grid_of(tiled(tile=0)) is None
    found = heif_grids.grid_of(tiled())
    assert found is not None
    assert (found.size, found.tile, len(found.tiles)) == ((200, 152), (64, 64), 12)


def test_tiles_of_another_size_than_the_grid_says_are_refused(monkeypatch):
    content = bytearray(tiled())
    at = content.find(b"ispe", content.find(b"ispe") + 4) + 8
    content[at : at + 8] = (4096).to_bytes(4, "big") * 2  # the second size is that of the tiles
    monkeypatch.setattr(images, "FULL_PIXELS", 1000)
    with pytest.raises(SourceError):
        images.decode(bytes(content))


@given(st.integers(0, 900), st.integers(0, 255), st.integers(0, 1200))
def test_a_damaged_grid_is_refused_in_words_or_decoded(at: int, byte: int, cut: int):
    content = bytearray(DAMAGED)
    content[at % len(content)] = byte
    del content[len(content) - cut % len(content) :]
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(images, "FULL_PIXELS", 10_000)
        try:
            decoded = images.decode(bytes(content))
        except SourceError:
            return
    assert decoded.rgb.shape[2] == 3


DAMAGED = tiled()
