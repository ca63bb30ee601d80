"""A picture map in the survey's folder: its tiles found, and nothing else ever given out."""

from __future__ import annotations

import gzip
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from maps_made import CREDIT, Place, a_tile, write_archive, write_map
from pmtiles.tile import TileType

from triage.standards import map_archive
from triage.store import map_tiles
from triage.store.connection import Survey


def the_map(survey: Survey) -> map_tiles.TileMap:
    found, refused = map_tiles.find_map(survey)
    assert found is not None
    assert refused == []
    return found


def write(survey: Survey, kind: str, tiles: dict[Place, bytes]) -> Path:
    """The tiles, counted from the north, in either format."""
    if kind == "pmtiles":
        return write_archive(survey.folder, tiles)
    return write_map(survey.folder, {(z, x, 2**z - 1 - y): t for (z, x, y), t in tiles.items()})


BOTH = pytest.mark.parametrize("kind", ["mbtiles", "pmtiles"])


def test_without_a_folder_there_is_no_map(survey: Survey):
    assert map_tiles.find_map(survey) == (None, [])


@BOTH
def test_rows_are_counted_from_the_north(survey: Survey, kind: str):
    write(survey, kind, {(2, 1, 0): a_tile("PNG"), (3, 0, 7): a_tile("JPEG")})
    found = the_map(survey)
    assert (found.least_zoom, found.most_zoom) == (2, 3)
    assert found.attribution == CREDIT
    assert map_tiles.tile(found, 2, 1, 0) == (a_tile("PNG"), "image/png")
    assert map_tiles.tile(found, 2, 1, 3) is None
    kept = map_tiles.tile(found, 3, 0, 7)
    assert kept is not None
    assert kept[1] == "image/jpeg"


def test_a_row_of_the_database_itself_counts_from_the_south(survey: Survey):
    write_map(survey.folder, {(2, 1, 3): a_tile()})
    assert map_tiles.tile(the_map(survey), 2, 1, 0) is not None


@BOTH
@pytest.mark.parametrize(
    "content",
    [
        b"<svg xmlns='http://www.w3.org/2000/svg'><script>1</script></svg>",
        b"<html><script>1</script></html>",
        b"\x1f\x8b\x08\x00vector tile",
        b"\x89PNG\r\n\x1a\n" + b"0" * map_tiles.MOST_BYTES,
    ],
)
def test_only_pictures_of_a_sensible_size_are_given_out(survey: Survey, kind: str, content: bytes):
    write(survey, kind, {(0, 0, 0): content})
    assert map_tiles.tile(the_map(survey), 0, 0, 0) is None


@pytest.mark.parametrize("content", [None, "text", 7, 1.5, b""])
def test_a_tile_of_another_type_is_none(survey: Survey, content: object):
    write_map(survey.folder, {(0, 0, 0): content})  # type: ignore[dict-item]
    assert map_tiles.tile(the_map(survey), 0, 0, 0) is None


@BOTH
@pytest.mark.parametrize("place", [(-1, 0, 0), (1, 2, 0), (1, 0, -1), (99, 0, 0), (22, 2**22, 0)])
def test_a_place_off_the_map_has_no_tile(survey: Survey, kind: str, place: Place):
    write(survey, kind, {(0, 0, 0): a_tile()})
    assert map_tiles.tile(the_map(survey), *place) is None


@pytest.mark.parametrize("name", ["a.mbtiles", "a.pmtiles"])
def test_a_file_that_is_no_map_is_named_and_passed_over(survey: Survey, name: str):
    write_map(survey.folder, {(0, 0, 0): a_tile()}, name="b")
    (survey.folder / map_tiles.FOLDER / name).write_bytes(b"no database at all" * 20)
    (survey.folder / map_tiles.FOLDER / "README.txt").write_text("where it came from")
    found, refused = map_tiles.find_map(survey)
    assert found is not None
    assert found.path.name == "b.mbtiles"
    assert [(one.name, one.reason) for one in refused] == [(name, map_tiles.UNREADABLE)]


def test_a_vector_map_is_refused_in_plain_words(survey: Survey):
    write_map(survey.folder, {(0, 0, 0): b"\x1a\x00"}, format="pbf")
    write_archive(survey.folder, {(0, 0, 0): b"\x1a\x00"}, kind=TileType.MVT)
    found, refused = map_tiles.find_map(survey)
    assert found is None
    assert [one.reason for one in refused] == [map_tiles.NO_PICTURES] * 2


def test_zoom_levels_that_are_no_numbers_or_negative_are_no_map(survey: Survey):
    write_map(survey.folder, {("x", 0, 0): a_tile()}, name="a")  # type: ignore[dict-item]
    write_map(survey.folder, {(-4, 0, 0): a_tile()}, name="b")
    write_map(survey.folder, {}, name="c")
    found, refused = map_tiles.find_map(survey)
    assert found is None
    assert [one.name for one in refused] == ["a.mbtiles", "b.mbtiles", "c.mbtiles"]


def test_an_archive_whose_directory_unpacks_without_end_has_no_tiles(survey: Survey):
    path = write_archive(survey.folder, {(0, 0, 0): a_tile()})
    bomb = gzip.compress(b"\x00" * (map_archive.MOST_DIRECTORY + 1))
    header = bytearray(path.read_bytes()[: map_archive.HEADER_BYTES])
    header[8:16] = len(header).to_bytes(8, "little")
    header[16:24] = len(bomb).to_bytes(8, "little")
    header[24:40] = bytes(16)
    path.write_bytes(bytes(header) + bomb)
    assert map_archive.tile(path, 0, 0, 0, most=1000) is None


@given(st.data())
def test_a_damaged_archive_is_never_more_than_no_map(tmp_path_factory, data):
    folder = tmp_path_factory.mktemp("damaged")
    path = write_archive(folder, {(1, 0, 0): a_tile(), (1, 1, 1): a_tile("JPEG")})
    content = bytearray(path.read_bytes())
    for _ in range(data.draw(st.integers(1, 6))):
        content[data.draw(st.integers(0, len(content) - 1))] = data.draw(st.integers(0, 255))
    path.write_bytes(bytes(content[: data.draw(st.integers(0, len(content)))]))
    map_archive.about(path)
    kept = map_archive.tile(path, 1, 0, 0, most=map_tiles.MOST_BYTES)
    assert kept is None or isinstance(kept, bytes)
