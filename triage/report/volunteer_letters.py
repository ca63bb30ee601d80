"""Write a letter to one person over their sightings, and the season letter for everybody."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from triage.replies import letters as writing
from triage.replies.due import kind_of
from triage.replies.envelope import Addressee, Picture, draft
from triage.replies.letters import LetterSighting, OpenQuestion, Season, Writer
from triage.replies.telling import Sources, bred_in, found_by_water
from triage.replies.wording import phrases, say
from triage.report.letter_plot import months_plot
from triage.standards.digests import digest_of


@dataclass(frozen=True, slots=True, kw_only=True)
class LetterDraft:
    """One letter: whose (by code), where it lies, over how many sightings, and its text."""

    person: str
    path: str
    sightings: int
    text: str
    content: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class LettersOutcome:
    """What was drafted, whom nothing was drafted for and why, and drafts that are out of date."""

    letters: tuple[LetterDraft, ...]
    skipped: tuple[str, ...]
    stale: tuple[str, ...]
    files: tuple[str, ...] = ()


def letter_about(
    found: Sequence[LetterSighting],
    questions: Sequence[OpenQuestion],
    pictures: Sequence[Picture],
    *,
    to: Addressee,
    name: str,
    person: str,
    year: int,
    writer: Writer,
    language: str,
    sender: tuple[str, str],
    folder: Path,
    now: datetime,
) -> LetterDraft:
    """The letter about a year, or thanks where that is 0, as it is to lie in a folder.

    ``name`` and ``person`` (a code) are of whom it goes to, ``sender`` the name and the address of
    the survey; ``questions`` are what their mails still need, with ``pictures`` of some.
    """
    kind, subject = kind_of(year), ""
    if year:
        season = Season(
            year=year,
            months=Counter(int(one.day[5:7]) for one in found if len(one.day) >= 7),
            firsts=tuple(dict.fromkeys(one.short_name for one in found if one.first == "survey")),
        )
        text = writing.season_letter(
            name, season, found, questions, writer=writer, language=language
        )
        subject = say(phrases(language)["subject_season"], year=str(year))
        plot = months_plot(season.months, title=subject)
        pictures = [Picture(name=f"season-{year}.png", content=plot), *pictures]
        to = Addressee(address=to.address, name=to.name)  # a letter of its own, in no thread
    else:
        text = writing.thanks(name, found, questions, writer=writer, language=language)
    digest = digest_of(f"{kind} {person} {text}".encode())[:8]
    content = draft(
        to,
        text,
        from_name=sender[0],
        from_address=sender[1],
        message_id_left=f"{kind}-{digest}.letter",
        subject=subject,
        now=now,
        pictures=pictures,
    )
    path = str(folder / f"{kind}-{person}-{digest}.eml")
    return LetterDraft(person=person, path=path, sightings=len(found), text=text, content=content)


def season_for_all(
    sources: Sources,
    observers: Mapping[str, int | None],
    year: int,
    *,
    writer: Writer,
    language: str,
) -> str:
    """The text of the letter for everybody; ``observers`` are by sighting."""
    came = [one for one in sources.content.sightings if one.event_date.startswith(f"{year}-")]
    found = [one for one in came if one.state == "determined"]
    return writing.season_of_all(
        Season(year=year, months={}),
        sightings=len(came),
        named=len(found),
        people=len({observers[one.identifier] for one in came} - {None}),
        by_water=found_by_water(sources, found),
        bred=bred_in(sources, year),
        writer=writer,
        language=language,
    )
