"""Picture maps made for tests, as the open formats MBTiles and PMTiles have them."""

from __future__ import annotations

import io
import math
import sqlite3
from contextlib import closing
from pathlib import Path

from PIL import Image, ImageDraw
from pmtiles.tile import Compression, TileType, zxy_to_tileid
from pmtiles.writer import Writer

from triage.store import map_tiles

Place = tuple[int, int, int]
CREDIT = "our own <b>drawing</b>"
RED = (220, 0, 60)


def a_tile(kind: str = "PNG") -> bytes:
    content = io.BytesIO()
    Image.new("RGB", (4, 4), "teal").save(content, kind)
    return content.getvalue()


def write_map(
    survey_folder: Path,
    tiles: dict[Place, bytes],
    name: str = "area",
    **metadata: str,
) -> Path:
    """An MBTiles file (MBTiles 1.3, github.com/mapbox/mbtiles-spec): rows count from the south."""
    folder = survey_folder / map_tiles.FOLDER
    folder.mkdir(exist_ok=True)
    path = folder / f"{name}.mbtiles"
    with closing(sqlite3.connect(path)) as made, made:
        made.execute("create table metadata (name text, value text)")
        for entry in {"attribution": CREDIT, **metadata}.items():
            made.execute("insert into metadata values (?, ?)", entry)
        made.execute(
            "create table tiles (zoom_level integer, tile_column integer, tile_row integer,"
            " tile_data blob)"
        )
        for (zoom, column, row), content in tiles.items():
            made.execute("insert into tiles values (?, ?, ?, ?)", (zoom, column, row, content))
    return path


def write_archive(
    survey_folder: Path,
    tiles: dict[Place, bytes],
    name: str = "area",
    kind: TileType = TileType.PNG,
) -> Path:
    """A PMTiles archive (version 3), written by the format's own library: rows from the north."""
    folder = survey_folder / map_tiles.FOLDER
    folder.mkdir(exist_ok=True)
    path = folder / f"{name}.pmtiles"
    with path.open("wb") as file:
        writer = Writer(file)
        for place in sorted(tiles, key=lambda one: zxy_to_tileid(*one)):
            writer.write_tile(zxy_to_tileid(*place), tiles[place])
        about = {"tile_type": kind, "tile_compression": Compression.NONE}
        writer.finalize(about, {"attribution": CREDIT})
    return path


def pixel_at(latitude: float, longitude: float, zoom: int) -> tuple[float, float]:
    """Pixels from the north-west corner of the world, of tiles of 256 pixels.

    OGC 17-083r4 (Two Dimensional Tile Matrix Set), annex D: WebMercatorQuad is EPSG:3857 over the
    square of 20037508.3427892 m to each side, cut into 2**zoom tiles a side, the first in the
    north-west. From memory, not re-read.
    """
    half, radius = 20_037_508.3427892, 6_378_137.0
    east = radius * math.radians(longitude)
    north = radius * math.log(math.tan(math.pi / 4 + math.radians(latitude) / 2))
    metres = 2 * half / (256 * 2**zoom)
    return (east + half) / metres, (half - north) / metres


def gridded(zoom: int, column: int, row: int, spot: tuple[float, float]) -> bytes:
    """A tile with its rim and its number, and a red disc at a spot of the world, in pixels."""
    made = Image.new("RGB", (256, 256), "#dfe8dc" if (column + row) % 2 else "#eef2e6")
    draw = ImageDraw.Draw(made)
    draw.rectangle((0, 0, 255, 255), outline="#667766")
    draw.text((8, 8), f"{zoom}/{column}/{row}", fill="#334433")
    x, y = spot[0] - 256 * column, spot[1] - 256 * row
    draw.ellipse((x - 14, y - 14, x + 14, y + 14), fill=RED)
    content = io.BytesIO()
    made.save(content, "PNG")
    return content.getvalue()
