"""Reads what lies beside the code: words, tables and figures in TOML, and templates to fill in."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
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


def with_parts(text: str, parts: Mapping[str, str]) -> str:
    """A regular expression in which %name% stands for a part of that name."""
    return re.sub(r"%(\w+)%", lambda found: parts[found[1]], text)


def patterns_by_name(entries: Mapping[str, str | list[str]]) -> dict[str, str]:
    """Regular expressions by name: of a list any entry; %name% is what stands before it so named.

    >>> patterns_by_name({"pond": ["pond", "lake"], "ours": "our %pond%"})["ours"]
    'our (?:pond|lake)'
    """
    found: dict[str, str] = {}
    for name, said in entries.items():
        text = said if isinstance(said, str) else f"(?:{'|'.join(said)})"
        found[name] = with_parts(text, found)
    return found


def filled(package: str, template: str, *, escape: bool = True, **given: object) -> str:
    """A template of a package filled in; a name that it is not given is an error.

    Names and places come from mail: unless the template is one of plain text, markup in them is
    shown and not obeyed.
    """
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader(package),
        autoescape=escape,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=not escape,
    )
    return environment.get_template(template).render(given)
