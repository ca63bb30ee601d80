"""A picture map in the survey's folder: its tiles found, and nothing else ever given out."""

from __future__ import annotations

import pytest
from maps_made import a_tile, write_map

from triage.store import map_tiles
from triage.store.connection import Survey


def test_without_a_folder_there_is_no_map(survey: Survey):
    assert map_tiles.find_map(survey) is None


def test_rows_are_counted_from_the_north(survey: Survey):
    write_map(survey.folder, {(2, 1, 3): a_tile("PNG"), (3, 0, 0): a_tile("JPEG")})
    found = map_tiles.find_map(survey)
    assert found is not None
    assert (found.least_zoom, found.most_zoom) == (2, 3)
    assert map_tiles.tile(found, 2, 1, 0) == (a_tile("PNG"), "image/png")
    assert map_tiles.tile(found, 2, 1, 3) is None
    kept = map_tiles.tile(found, 3, 0, 7)
    assert kept is not None
    assert kept[1] == "image/jpeg"


@pytest.mark.parametrize(
    "content",
    [
        b"<svg xmlns='http://www.w3.org/2000/svg'><script>1</script></svg>",
        b"<html><script>1</script></html>",
        b"",
        b"\x1f\x8b\x08\x00vector tile",
        b"\x89PNG\r\n\x1a\n" + b"0" * map_tiles.MOST_BYTES,
    ],
)
def test_only_pictures_of_a_sensible_size_are_given_out(survey: Survey, content: bytes):
    write_map(survey.folder, {(0, 0, 0): content})
    found = map_tiles.find_map(survey)
    assert found is not None
    assert map_tiles.tile(found, 0, 0, 0) is None


@pytest.mark.parametrize("place", [(-1, 0, 0), (1, 2, 0), (1, 0, -1), (99, 0, 0)])
def test_a_place_off_the_map_has_no_tile(survey: Survey, place: tuple[int, int, int]):
    write_map(survey.folder, {(0, 0, 0): a_tile()})
    found = map_tiles.find_map(survey)
    assert found is not None
    assert map_tiles.tile(found, *place) is None


def test_a_file_that_is_no_map_is_passed_over(survey: Survey):
    write_map(survey.folder, {(0, 0, 0): a_tile()}, name="b")
    (survey.folder / map_tiles.FOLDER / "a.mbtiles").write_bytes(b"no database at all")
    found = map_tiles.find_map(survey)
    assert found is not None
    assert found.path.name == "b.mbtiles"
