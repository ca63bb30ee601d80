"""Reads the data files that lie beside the code: words, tables and figures in TOML."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib import resources
from typing import Any


@cache
def toml_of(package: str, name: str) -> dict[str, Any]:
    """What a file of a package holds; read once, never to be changed.

    >>> sorted(toml_of("triage.standards", "cautions.toml"))
    ['de', 'en', 'fr', 'pl']
    """
    return tomllib.loads(resources.files(package).joinpath(name).read_text(encoding="utf-8"))
