"""Reads the files of the demo's story: people and cameras, letters, looks of species, tables."""

from __future__ import annotations

import csv
import tomllib
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).parent / "data"
TABLES = ("sites.csv", "visits.csv", "lots.csv", "checklist.csv")


def read_toml(name: str) -> dict[str, Any]:
    """Read a file of the story, its lists as tuples, as the records hold them."""
    with (FOLDER / name).open("rb") as file:
        return {key: _fixed(value) for key, value in tomllib.load(file).items()}


def _fixed(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _fixed(inner) for key, inner in value.items()}
    return tuple(_fixed(inner) for inner in value) if isinstance(value, list) else value


def read_table(name: str | Path) -> list[dict[str, str]]:
    """Read one of the survey's tables, or another by its whole path."""
    with (FOLDER / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))
