"""Picture maps made for tests, as the open format MBTiles has them."""

from __future__ import annotations

import io
import sqlite3
from contextlib import closing
from pathlib import Path

from PIL import Image

from triage.store import map_tiles


def a_tile(kind: str = "PNG") -> bytes:
    content = io.BytesIO()
    Image.new("RGB", (4, 4), "teal").save(content, kind)
    return content.getvalue()


def write_map(
    survey_folder: Path, tiles: dict[tuple[int, int, int], bytes], name: str = "area"
) -> Path:
    """An MBTiles file (MBTiles 1.3, github.com/mapbox/mbtiles-spec): rows count from the south."""
    folder = survey_folder / map_tiles.FOLDER
    folder.mkdir(exist_ok=True)
    path = folder / f"{name}.mbtiles"
    with closing(sqlite3.connect(path)) as made, made:
        made.execute("create table metadata (name text, value text)")
        made.execute("insert into metadata values ('attribution', 'our own <b>drawing</b>')")
        made.execute(
            "create table tiles (zoom_level integer, tile_column integer, tile_row integer,"
            " tile_data blob)"
        )
        for (zoom, column, row), content in tiles.items():
            made.execute("insert into tiles values (?, ?, ?, ?)", (zoom, column, row, content))
    return path
