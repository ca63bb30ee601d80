"""Compares an export with an earlier one: which records were added, changed or withdrawn.

Every export carries ``manifest.csv``, the digest of each of its rows; two manifests are enough to
tell what changed, without the earlier tables and without anything that they withheld.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Literal

from triage.errors import SourceError
from triage.exports.occurrences import Row
from triage.exports.tables import declared
from triage.standards.digests import digest_of

Change = Literal["added", "changed", "withdrawn"]
Manifest = dict[tuple[str, str], str]


def manifest_of(tables: Mapping[str, tuple[Sequence[str], Sequence[Row]]]) -> Manifest:
    """The digest of each row by table and identifier."""
    made: Manifest = {}
    for name, (columns, rows) in tables.items():
        keys = declared()[name]["key"]
        for row in rows:
            identifier = " ".join(filter(None, (row.get(key, "") for key in keys)))
            cells = "\x1f".join(f"{column}={row.get(column, '')}" for column in columns)
            made[name, identifier] = digest_of(cells.encode())
    return made


def digest_of_all(manifest: Manifest) -> str:
    """One SHA-256 for the whole export: the same survey, released alike, has the same."""
    lines = (f"{table}\t{name}\t{row}\n" for (table, name), row in sorted(manifest.items()))
    return digest_of("".join(lines).encode())


def manifest_rows(manifest: Manifest) -> list[Row]:
    """The manifest as rows of its table, sorted."""
    return [
        {"table": table, "identifier": identifier, "sha256": digest}
        for (table, identifier), digest in sorted(manifest.items())
    ]


def change_rows(before: Manifest, now: Manifest) -> list[Row]:
    """What changed from one export to the next, sorted by table and identifier.

    >>> change_rows({("sites", "A"): "1", ("sites", "B"): "1"}, {("sites", "A"): "2"})
    [{'change': 'changed', 'table': 'sites', 'identifier': 'A'}, \
{'change': 'withdrawn', 'table': 'sites', 'identifier': 'B'}]
    """
    rows = []
    for key in sorted(before.keys() | now.keys()):
        change: Change | None = None
        if key not in before:
            change = "added"
        elif key not in now:
            change = "withdrawn"
        elif before[key] != now[key]:
            change = "changed"
        if change:
            rows.append({"change": change, "table": key[0], "identifier": key[1]})
    return rows


def read_manifest(folder: Path) -> Manifest:
    """The manifest of an earlier export.

    Raises
    ------
    SourceError
        If the folder holds no manifest, or one that cannot be read.
    """
    paths = sorted(folder.glob("manifest*.csv"))
    if not paths:
        raise SourceError(
            "this folder holds no export with a manifest",
            failing=str(folder),
            next_step="Name the folder of an earlier export; exports have manifest.csv in them.",
        )
    try:
        rows = list(csv.DictReader(io.StringIO(paths[0].read_text(encoding="utf-8"))))
        return {(row["table"], row["identifier"]): row["sha256"] for row in rows}
    except (OSError, KeyError, UnicodeDecodeError, csv.Error) as error:
        raise SourceError(
            "the manifest of the earlier export cannot be read",
            failing=str(paths[0]),
            next_step="Take another export, or leave --since out.",
        ) from error
