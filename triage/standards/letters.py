"""A text in, the plain letters by which it is compared and put in order out.

Letters with a mark are told apart from it by Unicode's canonical decomposition (Unicode Standard
Annex 15, form NFKD); the few letters whose bar or ligature Unicode keeps whole are listed here.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable

_WHOLE_LETTERS = str.maketrans(
    {
        "\u0142": "l",
        "\u00f8": "o",
        "\u0111": "d",
        "\u00df": "ss",
        "\u00e6": "ae",
        "\u0153": "oe",
        "\u0131": "i",
        "\u00fe": "th",
        "\u00f0": "d",
        "\u0127": "h",
    }
)


def bare(text: str) -> str:
    r"""Small letters without accents, strokes and ligatures; everything else as it stands.

    Examples
    --------
    >>> bare("Øre Sø"), bare("Łysa"), bare("Straße"), bare("Ǿ e\u0301")
    ('ore so', 'lysa', 'strasse', 'o e')
    """
    split = unicodedata.normalize("NFKD", text.casefold()).translate(_WHOLE_LETTERS)
    return "".join(sign for sign in split if unicodedata.category(sign)[0] != "M")


def alphabetical(text: str) -> tuple[list[tuple[int, int, str]], str]:
    """The key by which names stand in every list: as in the index of a book for all countries.

    A letter with a mark stands with its plain letter, whatever a single language does (Danish has
    Ø, Polish Ł behind); numbers stand before letters, by their size; of two names that differ in
    marks or capitals alone the order of the signs decides, so that it never depends on the machine.

    Examples
    --------
    >>> sorted(["Zander Pit", "Øre", "Old Pit", "10 Acre", "2nd Lock", "Żaba"], key=alphabetical)
    ['2nd Lock', '10 Acre', 'Old Pit', 'Øre', 'Żaba', 'Zander Pit']
    """
    pieces = re.findall(r"[0-9]+|[^\W\d_]+", bare(text))
    return [(0, int(p), "") if p.isascii() and p.isdigit() else (1, 0, p) for p in pieces], text


def any_phrase(phrases: Iterable[str], *, beside: str = r"\w") -> str:
    r"""A pattern of whole phrases, the longest tried first, whatever blanks divide their words.

    ``beside`` are the signs that may not stand on either side; no phrases are found nowhere.

    >>> re.findall(any_phrase(["Ada", "Ada Finch"]), "Ada  Finch, Adam")
    ['Ada  Finch']
    """
    longest = sorted(filter(str.strip, phrases), key=lambda one: (-len(one), one))
    whole = "|".join(r"\s+".join(map(re.escape, one.split())) for one in longest)
    return rf"(?<![{beside}])(?:{whole or '(?!)'})(?![{beside}])"
