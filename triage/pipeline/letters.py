"""Show the drafted letters, keep them with other words, and lay one out to print; none is sent."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from triage.errors import UnknownError
from triage.pipeline.drafts import drafts
from triage.pipeline.volunteer_letters import for_all
from triage.replies.editing import LETTER_LENGTH, Letter, read_letter, with_words
from triage.report.paper import letter_pdf
from triage.store import letters, messages, people, whole_files
from triage.store.connection import Survey

_FOR_ALL = re.compile(r"season-\d{4}-for-all")


@dataclass(frozen=True, slots=True, kw_only=True)
class Drafted:
    """One letter whose draft lies there: by what it is called, of what kind, to whom.

    ``about`` is what a question asks, or how many sightings a letter tells of.
    """

    code: str
    kind: str  # question, thanks, season
    to: str
    about: str
    year: int = 0
    answered: bool = False


def drafted(survey: Survey) -> list[Drafted]:
    """Every draft that lies in the survey's folder of replies: the newest of each kind first."""
    there = {path.stem for path in survey.replies.glob("*.eml")}
    names = {one.row: one.name or one.code for one in people.all_people(survey)}
    told = [
        Drafted(
            code=Path(one.draft_name).stem,
            kind=one.kind,
            to=names.get(one.person, ""),
            about=f"{len(one.said)} sighting{'' if len(one.said) == 1 else 's'}",
            year=one.year,
        )
        for kind in ("season", "thanks")
        for one in reversed(letters.live(survey, kind))
    ]
    asked = [
        Drafted(
            code=Path(one.path).stem,
            kind="question",
            to=messages.find(survey, one.message).sender_name,
            about=one.what,
            answered=one.answered,
        )
        for one in reversed(drafts(survey))
    ]
    return [one for one in (*told, *asked) if one.code in there]


def for_everybody(survey: Survey) -> list[str]:
    """The codes of the season letters to all, the newest year first."""
    found = (path.stem for path in survey.replies.glob("season-*-for-all.txt"))
    return sorted((one for one in found if _FOR_ALL.fullmatch(one)), reverse=True)


def letter(survey: Survey, code: str) -> Letter:
    """The drafted letter of this code."""
    path = path_of_letter(survey, code)
    if path.suffix == ".txt":
        text = path.read_text(encoding="utf-8")
        return Letter(to="everybody", subject=survey.settings.survey.title, words=text)
    return read_letter(path.read_bytes())


def save_words(survey: Survey, code: str, words: str) -> None:
    """Keep the letter with these words."""
    path = path_of_letter(survey, code)
    if path.suffix == ".txt":
        for_all(survey, code, "\n".join(words[:LETTER_LENGTH].splitlines()) + "\n")
        return
    with whole_files.written(path) as part:
        part.write_bytes(with_words(path.read_bytes(), words))


def sheet(survey: Survey, code: str) -> bytes:
    """The letter as A4 pages (PDF), to be sent by post or pinned up."""
    return letter_pdf(letter(survey, code).words, title=survey.settings.survey.title)


def path_of_letter(survey: Survey, code: str) -> Path:
    """Where the draft of this code lies.

    Raises
    ------
    UnknownError
        If no letter has this code, or its file was deleted.
    """
    known = {one.code for one in drafted(survey)} | set(for_everybody(survey))
    if code not in known:
        raise UnknownError(
            "there is no drafted letter of this name",
            failing=code[:60],
            next_step="Draft it again: a question from its message, other letters under Letters.",
        )
    return survey.replies / f"{code}{'.txt' if _FOR_ALL.fullmatch(code) else '.eml'}"
