"""Find every leak in files that are about to be handed on."""

from __future__ import annotations

import bisect
import html
import io
import re
import unicodedata
import zipfile
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from triage.privacy.redaction import has_metadata

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

_WORD = re.compile(r"\w+")
_DECIMAL = re.compile(r"(?<![\w.])\d{1,3}\.\d+")


@dataclass(frozen=True, slots=True, kw_only=True)
class Secrets:
    """What must not be found in an export.

    ``words``: names, addresses, places, file names, exact times. ``points``: latitude, longitude
    and how many decimals of them may be shown (3 for a release at 0.001 degree).
    """

    words: tuple[str, ...] = ()
    points: tuple[tuple[float, float, int], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Leak:
    """One secret found: the file (``archive.zip/member`` inside a zip) and what it gives away."""

    file: str
    found: str


def leaks_in(files: Mapping[str, bytes], secrets: Secrets) -> tuple[Leak, ...]:
    """Every secret found in files and their names, zip files opened, pictures checked for metadata.

    Words are compared as sequences of words, letter case, punctuation, spelling of accents and
    XML escapes apart; numbers as numbers, so that neither rounding nor truncation hides a held
    coordinate. Time grows with the size of the files, not with the number of secrets.
    """
    import numpy as np

    phrases: dict[str, list[tuple[tuple[str, ...], str]]] = {}
    for secret in secrets.words:
        tokens = tuple(_words(secret))
        if tokens:
            phrases.setdefault(tokens[0], []).append((tokens, secret))
    held = np.abs(np.array(secrets.points, dtype=np.float64).reshape(-1, 3))
    leaks: list[Leak] = []
    for name, content in _opened(files):
        text = name
        if name.lower().endswith((".jpg", ".jpeg", ".png")):
            if _may_have_metadata(content):
                leaks.append(Leak(file=name, found="metadata inside the picture"))
        else:
            text += "\n" + html.unescape(content.decode("utf-8", "replace"))
        found = dict.fromkeys(_phrases_in(_words(text), phrases))
        found |= dict.fromkeys(_points_in(text, secrets.points, held))
        leaks += [Leak(file=name, found=secret) for secret in found]
    return tuple(leaks)


def _may_have_metadata(content: bytes) -> bool:
    try:
        return has_metadata(content)
    except Exception:  # a damaged picture: nobody can say that there is none
        return True


def _words(text: str) -> list[str]:
    return _WORD.findall(unicodedata.normalize("NFKC", text).casefold())


def _phrases_in(
    words: list[str], phrases: Mapping[str, list[tuple[tuple[str, ...], str]]]
) -> Iterator[str]:
    for position, word in enumerate(words):
        for tokens, secret in phrases.get(word, ()):
            if tuple(words[position : position + len(tokens)]) == tokens:
                yield secret


def _points_in(
    text: str, points: Sequence[tuple[float, float, int]], held: NDArray[np.float64]
) -> Iterator[str]:
    """What of these points the text shows; ``held`` are they without their signs, as an array."""
    import numpy as np

    numbers = sorted((float(number), number) for number in set(_DECIMAL.findall(text)))
    values = [value for value, _ in numbers]
    reach = 1.01 * 10.0 ** -(held[:, 2:] + 1) * (1 + 1e-9)
    near = np.searchsorted(values, held[:, :2] - reach) < np.searchsorted(
        values, held[:, :2] + reach, side="right"
    )
    for place in np.flatnonzero(near.any(axis=1)).tolist():
        latitude, longitude, decimals = points[place]
        widest = 1.01 * 10.0 ** -(decimals + 1)
        shown: dict[float, list[str]] = {}
        for one in (latitude, longitude):
            first = bisect.bisect_left(values, abs(one) - widest)
            last = bisect.bisect_right(values, abs(one) + widest)
            close = [number for _, number in numbers[first:last]]
            shown[one] = [number for number in close if _gives_away(number, one, decimals)]
        for one, found in shown.items():
            # Near the equator and Greenwich every share and every fraction of a picture looks
            # like a coordinate: there the other half of the point must be shown too.
            if abs(one) >= 1 or all(shown.values()):
                yield from (f"{one} as {number}" for number in found)


def _gives_away(number: str, held: float, decimals: int) -> bool:
    if round(held, decimals) == held:
        return False  # no finer than what is released: there is nothing to give away
    shown = len(number.partition(".")[2].rstrip("0"))
    near = max(1.01 * 10.0**-shown, 10.0 ** -(decimals + 2))
    return shown > decimals and abs(float(number) - abs(held)) < near


def _opened(files: Mapping[str, bytes]) -> Iterator[tuple[str, bytes]]:
    for name, content in files.items():
        yield from _members(name, content) or [(name, content)]


def _members(name: str, content: bytes) -> list[tuple[str, bytes]]:
    """What a zip file holds; nothing of a file of another kind, a damaged or a locked one."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            return [(f"{name}/{one}", archive.read(one)) for one in archive.namelist()]
    except Exception:  # zipfile and what unpacks for it raise many kinds
        return []
