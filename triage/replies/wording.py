"""Reads the templates and sentences of letters, a survey's own first, and fills in their values."""

from __future__ import annotations

import re
import string
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Literal, get_args

from triage.errors import SettingsError, UnknownError

Question = Literal[
    "place", "date", "place and date", "publish", "name", "original", "identity", "search"
]
"""Which pond; which day; both; may we publish; may we name you; the photo instead of a link or a
small copy; who took it; would you search a shore."""

QUESTIONS: tuple[Question, ...] = get_args(Question)
DEFAULT_LANGUAGE = "en"
LANGUAGES = ("en", "de", "pl", "fr")


def question_called(name: str) -> Question:
    """The question of this name.

    Raises
    ------
    UnknownError
        If there is none.
    """
    for what in QUESTIONS:
        if what == name:
            return what
    raise UnknownError(
        "there is no such question", failing=name, next_step=f"One of: {', '.join(QUESTIONS)}."
    )


QUESTION_VALUES = (
    *("recipient", "subject", "sent_on", "photo_count", "photos", "places", "survey", "asker"),
    *("licence", "cautions", "reference"),
)
LETTER_VALUES: Mapping[str, tuple[str, ...]] = {
    "thanks": ("recipient", "survey", "asker", "sightings", "questions", "wishes"),
    "season": (
        *("recipient", "survey", "asker", "year", "count", "sightings", "firsts", "plot"),
        "questions",
    ),
    "season-of-all": (
        *("survey", "asker", "year", "count", "people", "named", "waters", "exuviae"),
        "cautions",
    ),
}
"""The named values that a template may use after a dollar sign."""

_LANGUAGE = re.compile(r"[a-z]{2,3}(?:-[A-Za-z0-9]{2,8})*")


@dataclass(frozen=True, slots=True, kw_only=True)
class Template:
    """A template's text and where it came from, for messages about it."""

    source: str
    text: str


def template(what: str, language: str, own: Path | None = None) -> Template:
    """The wording of a question or letter: the survey's own, ours, or ours in English.

    Raises
    ------
    SettingsError
        If the survey's own file cannot be read as UTF-8.
    ValueError
        If there is no such letter.
    """
    name = what.replace(" ", "-")
    wanted = language if _LANGUAGE.fullmatch(language) else DEFAULT_LANGUAGE
    if own is not None:
        for path in (own / wanted / f"{name}.txt", own / f"{name}.txt"):
            if path.is_file():
                return Template(source=str(path), text=_own_text(path))
    ours = resources.files("triage.replies") / "templates"
    for candidate in (wanted, wanted.partition("-")[0], DEFAULT_LANGUAGE):
        file = ours / candidate / f"{name}.txt"
        if file.is_file():
            return Template(source=f"{candidate}/{name}.txt", text=file.read_text(encoding="utf-8"))
    raise ValueError(f"no template for {what}")


@cache
def phrases(language: str) -> Mapping[str, str]:
    """The sentences that letters are put together from, in English where a language has none."""
    folder = resources.files("triage.replies") / "templates"
    for candidate in (language.partition("-")[0], DEFAULT_LANGUAGE):
        file = folder / candidate / "phrases.toml"
        if candidate in LANGUAGES and file.is_file():
            return tomllib.loads(file.read_text(encoding="utf-8"))
    raise ValueError("the English sentences are missing")


def say(sentence: str, **values: str) -> str:
    """A sentence with its values filled in.

    >>> say("at $water", water="Heron Mere")
    'at Heron Mere'
    """
    return string.Template(sentence).substitute(values)


def filled(chosen: Template, values: Mapping[str, str]) -> str:
    """A template with its values filled in, without the gaps that empty values leave.

    Raises
    ------
    SettingsError
        If it uses a value that does not exist, with its line.
    """
    check(chosen, tuple(values))
    text = string.Template(chosen.text).substitute(values)
    return re.sub(r"\n{3,}", "\n\n", text.replace("\r\n", "\n")).strip() + "\n"


def check(chosen: Template, known: tuple[str, ...]) -> None:
    """Refuse a template that uses a value which does not exist.

    Raises
    ------
    SettingsError
        With the line of the first such value.
    """
    for number, line in enumerate(chosen.text.splitlines(), 1):
        for match in string.Template.pattern.finditer(line):
            name = match["named"] or match["braced"]
            if match["escaped"] is not None or name in known:
                continue
            raise SettingsError(
                f"line {number} uses a word that does not exist: ${name or ''}",
                failing=chosen.source,
                next_step="Use only $" + ", $".join(known) + "; write $$ for a dollar sign.",
            )


def check_own(own: Path) -> None:
    """Check every template in a survey's folder of its own templates, before any is needed.

    Raises
    ------
    SettingsError
        For the first that cannot be read, has a name that no letter has, or a wrong value.
    """
    known = {what.replace(" ", "-"): QUESTION_VALUES for what in QUESTIONS} | dict(LETTER_VALUES)
    for path in sorted(own.rglob("*.txt")):
        if path.stem not in known:
            raise SettingsError(
                "no question or letter has this name",
                failing=str(path),
                next_step=f"Name it as one of: {', '.join(sorted(known))}.",
            )
        check(Template(source=str(path), text=_own_text(path)), known[path.stem])


def day_words(iso_day: str, language: str) -> str:
    """A day as people write it; nothing for text that is no day.

    >>> day_words("2026-06-13", "de"), day_words("2026-06-13", "en")
    ('13. Juni 2026', '13 June 2026')
    """
    match = re.match(r"(\d{4})-(\d{2})-(\d{2})", iso_day)
    if match is None or not 1 <= int(match[2]) <= 12:
        return ""
    sentences = phrases(language)
    month = sentences["months"].split()[int(match[2]) - 1]
    return say(sentences["day"], day=str(int(match[3])), month=month, year=match[1])


def _own_text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise SettingsError(
            "the template cannot be read as UTF-8 text",
            failing=str(path),
            next_step="Save it as plain text in UTF-8, or remove it.",
        ) from error
