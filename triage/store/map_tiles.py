"""Read the tiles of the picture map that a survey keeps in its folder map (raster tiles alone).

Two open formats: MBTiles 1.3, an SQLite database with the tables ``metadata`` and ``tiles``, whose
rows count from the south (TMS); and PMTiles 3, one archive whose rows count from the north, as web
maps do.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from triage.analysis.media_types import sniff_media_type
from triage.standards import map_archive
from triage.store.connection import Survey

FOLDER = "map"
DEEPEST = 22  # zoom level; a tile of it is some metres wide
MOST_BYTES = 2_000_000  # of one tile; those of 512 pixels have a tenth of it
PICTURES = ("image/png", "image/jpeg", "image/webp")  # what MBTiles 1.3 allows
NO_PICTURES = "its tiles are no pictures (PNG, JPEG or WebP); a vector map cannot be shown here"
UNREADABLE = "it cannot be read as a map; copy it again from where it came"


@dataclass(frozen=True, slots=True, kw_only=True)
class TileMap:
    """A file of tiles: its name, the zoom levels it has, and whom it credits."""

    path: Path
    least_zoom: int
    most_zoom: int
    attribution: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RefusedMap:
    """A file in the folder map that cannot be shown, and why."""

    name: str
    reason: str


def find_map(survey: Survey) -> tuple[TileMap | None, list[RefusedMap]]:
    """The first raster map in the survey's folder map, by name, and the files before it refused."""
    folder = survey.folder / FOLDER
    refused: list[RefusedMap] = []
    for path in sorted(folder.iterdir()) if folder.is_dir() else ():
        if path.suffix.lower() not in (".mbtiles", ".pmtiles"):
            continue
        about = map_archive.about(path) if _is_archive(path) else _about(path)
        if about is not None and not about.pictures:
            refused.append(RefusedMap(name=path.name, reason=NO_PICTURES))
        elif about is None or not 0 <= about.least_zoom <= min(about.most_zoom, DEEPEST):
            refused.append(RefusedMap(name=path.name, reason=UNREADABLE))
        else:
            found = TileMap(
                path=path,
                least_zoom=about.least_zoom,
                most_zoom=min(about.most_zoom, DEEPEST),
                attribution=about.attribution[:300],
            )
            return found, refused
    return None, refused


def tile(found: TileMap, zoom: int, column: int, row: int) -> tuple[bytes, str] | None:
    """One tile, counted from the north-west, with its media type; None where there is none.

    Only what begins as a PNG, JPEG or WebP picture is given out.
    """
    if not 0 <= zoom <= DEEPEST or not (0 <= column < 2**zoom and 0 <= row < 2**zoom):
        return None
    if _is_archive(found.path):
        content = map_archive.tile(found.path, zoom, column, row, most=MOST_BYTES)
    else:
        content = _from_database(found.path, zoom, column, row)
    media_type = sniff_media_type(content) if content else ""
    return (content, media_type) if content and media_type in PICTURES else None


def _is_archive(path: Path) -> bool:
    return path.suffix.lower() == ".pmtiles"


def _about(path: Path) -> map_archive.About | None:
    """What a database says of its tiles, or None where it cannot be read."""
    try:
        with closing(_open(path)) as tiles:
            said = {str(k): str(v) for k, v in tiles.execute("select name, value from metadata")}
            ends = tiles.execute(  # each read from the end of an index
                "select (select min(zoom_level) from tiles), (select max(zoom_level) from tiles)"
            ).fetchone()
    except (sqlite3.Error, ValueError):
        return None
    low, high = (end if isinstance(end, int) else -1 for end in ends)
    return map_archive.About(
        least_zoom=low,
        most_zoom=high,
        pictures=said.get("format", "png") in ("png", "jpg", "jpeg", "webp"),
        attribution=said.get("attribution", ""),
    )


def _from_database(path: Path, zoom: int, column: int, row: int) -> bytes | None:
    try:
        with closing(_open(path)) as tiles:
            kept = tiles.execute(
                "select tile_data from tiles where zoom_level = ? and tile_column = ?"
                " and tile_row = ? and length(tile_data) <= ?",
                (zoom, column, 2**zoom - 1 - row, MOST_BYTES),
            ).fetchone()
    except sqlite3.Error:
        return None
    content = kept[0] if kept else None
    return content if isinstance(content, bytes) else None


def _open(path: Path) -> sqlite3.Connection:
    return sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)
