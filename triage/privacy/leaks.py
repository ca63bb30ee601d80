"""Find every leak in files that are about to be handed on."""

from __future__ import annotations

import bisect
import html
import io
import re
import unicodedata
import zipfile
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from triage.privacy.redaction import has_metadata

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


def find_leaks(folder: Path, secrets: Secrets) -> tuple[Leak, ...]:
    """Every secret found in the files of a folder (see :func:`leaks_in`)."""
    files = {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }
    return leaks_in(files, secrets)


def leaks_in(files: Mapping[str, bytes], secrets: Secrets) -> tuple[Leak, ...]:
    """Every secret found in files and their names, zip files opened, pictures checked for metadata.

    Words are compared as sequences of words, letter case, punctuation, spelling of accents and
    XML escapes apart; numbers as numbers, so that neither rounding nor truncation hides a held
    coordinate. Time grows with the size of the files, not with the number of secrets.
    """
    phrases: dict[str, list[tuple[tuple[str, ...], str]]] = {}
    for secret in secrets.words:
        tokens = tuple(_words(secret))
        if tokens:
            phrases.setdefault(tokens[0], []).append((tokens, secret))
    leaks: list[Leak] = []
    for name, content in _opened(files):
        text = name
        if name.lower().endswith((".jpg", ".jpeg", ".png")):
            if has_metadata(content):
                leaks.append(Leak(file=name, found="metadata inside the picture"))
        else:
            text += "\n" + html.unescape(content.decode("utf-8", "replace"))
        found = dict.fromkeys(_phrases_in(_words(text), phrases))
        found |= dict.fromkeys(_points_in(text, secrets.points))
        leaks += [Leak(file=name, found=secret) for secret in found]
    return tuple(leaks)


def _words(text: str) -> list[str]:
    return _WORD.findall(unicodedata.normalize("NFKC", text).casefold())


def _phrases_in(
    words: list[str], phrases: Mapping[str, list[tuple[tuple[str, ...], str]]]
) -> Iterator[str]:
    for position, word in enumerate(words):
        for tokens, secret in phrases.get(word, ()):
            if tuple(words[position : position + len(tokens)]) == tokens:
                yield secret


def _points_in(text: str, points: Iterable[tuple[float, float, int]]) -> Iterator[str]:
    numbers = sorted((float(number), number) for number in set(_DECIMAL.findall(text)))
    values = [value for value, _ in numbers]
    for latitude, longitude, decimals in points:
        widest = 1.01 * 10.0 ** -(decimals + 1)
        shown: dict[float, list[str]] = {}
        for held in (latitude, longitude):
            first = bisect.bisect_left(values, abs(held) - widest)
            last = bisect.bisect_right(values, abs(held) + widest)
            close = [number for _, number in numbers[first:last]]
            shown[held] = [number for number in close if _gives_away(number, held, decimals)]
        for held, found in shown.items():
            # Near the equator and Greenwich every share and every fraction of a picture looks
            # like a coordinate: there the other half of the point must be shown too.
            if abs(held) >= 1 or all(shown.values()):
                yield from (f"{held} as {number}" for number in found)


def _gives_away(number: str, held: float, decimals: int) -> bool:
    shown = len(number.partition(".")[2].rstrip("0"))
    near = max(1.01 * 10.0**-shown, 10.0 ** -(decimals + 2))
    return shown > decimals and abs(float(number) - abs(held)) < near


def _opened(files: Mapping[str, bytes]) -> Iterator[tuple[str, bytes]]:
    for name, content in files.items():
        if zipfile.is_zipfile(io.BytesIO(content)):
            with zipfile.ZipFile(io.BytesIO(content)) as archive:
                for member in archive.namelist():
                    yield f"{name}/{member}", archive.read(member)
        else:
            yield name, content
