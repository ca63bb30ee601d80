"""The words by which people grant, refuse or take back a consent, compiled into patterns.

They stand in consent_words.toml, in English, German, Polish and French. Those of withdrawals, soft
refusals, others' photos and children may match too much: then a person reads the words, and
nothing is published meanwhile.
"""

from __future__ import annotations

import re
from itertools import chain

from triage.standards.data_files import patterns_by_name, toml_of, with_parts


def patterns_of(name: str) -> dict[str, re.Pattern[str]]:
    """Read patterns of whole words by kind: each any of its entries, in all languages of a file."""
    file = toml_of("triage.mail", name)
    parts = patterns_by_name(file.get("parts", {}))
    return {
        kind: re.compile(rf"(?i)\b(?:{with_parts('|'.join(chain(*own.values())), parts)})\b")
        for kind, own in file.items()
        if kind != "parts" and isinstance(own, dict)
    }


WORDS = patterns_of("consent_words.toml")
UNDERSTOOD = frozenset(toml_of("triage.mail", "consent_words.toml")["understood"].split())
