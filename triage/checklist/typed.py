"""Tells whether typed letters may mean a name; the page of the desk follows the same rule.

static/determine/names.js of the desk is this file in the browser's language; a test in a browser
holds that both find the same names.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence

from triage.standards.letters import bare


def plain(text: str) -> str:
    """Letters without accents, strokes, hyphens or case: what the hand types.

    Examples
    --------
    >>> plain("  Żagnica-Sina "), plain("Miller's  Blue."), plain("Ważka płaskobrzucha")
    ('zagnica sina', 'miller s blue', 'wazka plaskobrzucha')
    """
    return " ".join(re.sub("[-'\u2019.]", " ", bare(text)).split())


_UMLAUTS = str.maketrans({"\u00e4": "ae", "\u00f6": "oe", "\u00fc": "ue"})


def spellings(text: str) -> tuple[str, ...]:
    """A name in small letters as keyboards of other countries write it, its own first.

    >>> spellings("Große Königslibelle")
    ('grosse königslibelle', 'grosse konigslibelle', 'grosse koenigslibelle')
    >>> spellings("Herbst-Mosaikjungfer")
    ('herbst-mosaikjungfer', 'herbst mosaikjungfer', 'herbstmosaikjungfer')
    """
    own = " ".join(unicodedata.normalize("NFC", text).split()).casefold()
    forms = dict.fromkeys((own, own.replace("-", "")))
    typed = (plain(way) for form in forms for way in (form, form.translate(_UMLAUTS)))
    return tuple(dict.fromkeys((own, *typed)))


def fits(wanted: Sequence[str], words: Sequence[str]) -> bool:
    """Whether plain letters may mean a label of plain words.

    Each part typed begins the word at its place ("an imp"); one part alone may begin any word
    ("impe"), or be the first letters of the first word and of the second run together ("anim").

    Examples
    --------
    >>> label = ["anax", "imperator"]
    >>> [fits(typed.split(), label) for typed in ("an imp", "impe", "anim", "imp an", "ax")]
    [True, True, True, False, False]
    """
    if len(wanted) == 1:
        return any(word.startswith(wanted[0]) for word in words) or run_together(wanted[0], words)
    return 0 < len(wanted) <= len(words) and all(
        word.startswith(part) for part, word in zip(wanted, words, strict=False)
    )


def run_together(letters: str, words: Sequence[str]) -> bool:
    """Whether the letters are the first of the first word and the first of the second."""
    return len(words) > 1 and any(
        words[0].startswith(letters[:cut]) and words[1].startswith(letters[cut:])
        for cut in range(1, len(letters))
    )
