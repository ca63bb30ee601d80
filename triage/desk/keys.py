"""Every key of the desk with what it does: the list on "?" and the buttons read it from here.

They stand in keys.toml.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass

from triage.standards.data_files import toml_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """One key, or several of a kind: as the browser names them, the label, what they do.

    ``act`` is what the scripts of a room call it; empty where it is more than one act.
    """

    key: str = ""
    label: str
    does: str
    act: str = ""

    @property
    def names(self) -> list[str]:
        """The keys by the names that browsers give them (UI Events KeyboardEvent key values)."""
        return self.key.split()


EVERYWHERE, NAMING, LOOKING, MENDING, INBOX, JARS, SITES = (
    tuple(Key(**one) for one in toml_of("triage.desk", "keys.toml")[room])
    for room in ("everywhere", "naming", "looking", "mending", "inbox", "jars", "sites")
)


def acts_of(*lists: Iterable[Key]) -> str:
    """What each key does, as the determiner's room reads it (JSON): so no key stands twice."""
    return json.dumps({name: k.act for keys in lists for k in keys if k.act for name in k.names})
