"""Read the tiles of the picture map that a survey keeps in its folder map (MBTiles 1.3, raster).

MBTiles is an SQLite database with the tables ``metadata`` and ``tiles``; its rows count from the
south (TMS), those of web maps from the north.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from triage.analysis.media_types import sniff_media_type
from triage.store.connection import Survey

FOLDER = "map"
DEEPEST = 22  # zoom level; a tile of it is some metres wide
MOST_BYTES = 2_000_000  # of one tile; those of 512 pixels have a tenth of it
PICTURES = ("image/png", "image/jpeg", "image/webp")  # what MBTiles 1.3 allows


@dataclass(frozen=True, slots=True, kw_only=True)
class TileMap:
    """A file of tiles: its name, the zoom levels it has, and whom it credits."""

    path: Path
    least_zoom: int
    most_zoom: int
    attribution: str


def find_map(survey: Survey) -> TileMap | None:
    """The first readable raster map in the survey's folder map, by name; None without one."""
    folder = survey.folder / FOLDER
    for path in sorted(folder.glob("*.mbtiles")) if folder.is_dir() else ():
        try:
            with closing(_open(path)) as tiles:
                about = {
                    str(k): str(v) for k, v in tiles.execute("select name, value from metadata")
                }
                low, high = tiles.execute(
                    "select min(zoom_level), max(zoom_level) from tiles"
                ).fetchone()
        except sqlite3.Error:
            continue
        if isinstance(low, int) and isinstance(high, int) and 0 <= low <= high:
            return TileMap(
                path=path,
                least_zoom=low,
                most_zoom=min(high, DEEPEST),
                attribution=about.get("attribution", "")[:300],
            )
    return None


def tile(found: TileMap, zoom: int, column: int, row: int) -> tuple[bytes, str] | None:
    """One tile, counted from the north-west, with its media type; None where there is none.

    Only what begins as a PNG, JPEG or WebP picture is given out.
    """
    if not 0 <= zoom <= DEEPEST or not (0 <= column < 2**zoom and 0 <= row < 2**zoom):
        return None
    try:
        with closing(_open(found.path)) as tiles:
            kept = tiles.execute(
                "select tile_data from tiles where zoom_level = ? and tile_column = ?"
                " and tile_row = ? and length(tile_data) <= ?",
                (zoom, column, 2**zoom - 1 - row, MOST_BYTES),
            ).fetchone()
    except sqlite3.Error:
        return None
    content = kept[0] if kept else None
    if not isinstance(content, bytes):
        return None
    media_type = sniff_media_type(content)
    return (content, media_type) if media_type in PICTURES else None


def _open(path: Path) -> sqlite3.Connection:
    return sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)
