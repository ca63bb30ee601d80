"""Draft what goes back to people: thanks for what was settled, and letters about a season."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from triage.errors import SettingsError, TriageError
from triage.exports.release import prepare
from triage.inbox import Need
from triage.mail.kept import MessageRow
from triage.pipeline import drafts, inbox, photo_list, publish, standing
from triage.replies.drafted import addressee, season_of_all
from triage.replies.due import (
    ASKED,
    LetterRow,
    due_sightings,
    kind_of,
    reason_for_none,
    stale_drafts,
)
from triage.replies.envelope import Picture
from triage.replies.letters import OpenQuestion, Writer
from triage.replies.telling import Sources, firsts_of, said_of, told
from triage.report.volunteer_letters import (
    LetterDraft,
    LettersOutcome,
    letter_about,
    season_for_all,
)
from triage.sightings import Sighting
from triage.standards.counting import counted
from triage.standards.groups import in_groups
from triage.standards.letters import alphabetical
from triage.store import actions, letters, messages, people, photos, previews
from triage.store.connection import Survey

MOST_PICTURES = 6  # small copies in one letter: a mail stays below a megabyte


@dataclass(frozen=True, slots=True, kw_only=True)
class _Known:
    """What all letters of a run are made from, loaded once: observers by sighting, open needs by
    sender."""

    sources: Sources
    observers: Mapping[str, int | None]
    needs: Mapping[int, list[tuple[MessageRow, Need]]]

    @property
    def sightings(self) -> tuple[Sighting, ...]:
        return self.sources.content.sightings


def thanks(survey: Survey, *, by: str, now: datetime, show: bool = False) -> LettersOutcome:
    """Draft one letter to each person over their sightings settled since the last.

    With ``show`` nothing is written or noted.

    Raises
    ------
    SettingsError
        If the survey has no address of its own, or a template is wrong.
    """
    drafts.require_address(survey, "a letter")
    return _drafted(survey, _load(survey), 0, by=by, now=now, show=show)


def season(
    survey: Survey, year: int, *, by: str, now: datetime, show: bool = False
) -> LettersOutcome:
    """Draft a letter about a year for each person, and write one for all, also to print.

    Raises
    ------
    SettingsError
        If the survey has no address of its own, or a template is wrong.
    """
    drafts.require_address(survey, "a letter")
    known = _load(survey)
    outcome = _drafted(survey, known, year, by=by, now=now, show=show)
    return outcome if show else replace(outcome, files=_season_of_all(survey, known, year))


def remove_unsent_letters(survey: Survey, action: int) -> None:
    """Take away the drafts of letters that were taken back."""
    for letter in letters.of_action(survey, action):
        (survey.replies / letter.draft_name).unlink(missing_ok=True)


def _drafted(
    survey: Survey, known: _Known, year: int, *, by: str, now: datetime, show: bool
) -> LettersOutcome:
    """Letters about a year; thanks where that is 0."""
    everybody = {person.row: person for person in people.all_people(survey)}
    kind = kind_of(year)
    drafted = letters.live(survey, kind)
    due = due_sightings(drafted, known.sightings, known.observers, year)
    made: list[tuple[people.Person, LetterDraft]] = []
    skipped: list[str] = []
    for row in sorted(due, key=lambda one: (alphabetical(everybody[one].name), one)):
        person = everybody[row]
        mail = letters.newest_mail(survey, row)
        reason = reason_for_none(
            addresses=person.addresses,
            wrote=mail is not None,
            needs={need.kind for _, need in known.needs.get(row, ())},
            texts=letters.texts_of(survey, row),
        )
        if reason or mail is None:
            skipped.append(f"{person.code}: {reason}")
            continue
        try:
            answered = messages.by_row(survey, mail)
            made.append((person, _letter(survey, known, person, answered, due[row], year, now)))
        except SettingsError:
            raise
        except TriageError as error:
            skipped.append(f"{person.code}: {error}")
    there = {path.name for path in survey.replies.glob("*.eml")}
    stale = tuple(stale_drafts(drafted, known.sightings, there))
    if made and not show:
        summary = f"{counted(len(made), 'letter')} drafted: {kind}{f' {year}' if year else ''}"
        with actions.acting(survey, "replies", summary, by=by, now=now) as action:
            for person, letter in made:
                Path(letter.path).write_bytes(letter.content)
                row_kept = LetterRow(
                    person=person.row,
                    kind=kind,
                    year=year,
                    draft_name=Path(letter.path).name,
                    said={one.identifier: said_of(one) for one in due[person.row]},
                )
                letters.add(survey, row_kept, action=action, now=now)
    return LettersOutcome(
        letters=tuple(letter for _, letter in made), skipped=tuple(skipped), stale=stale
    )


def _load(survey: Survey) -> _Known:
    stands = standing.standing(survey)
    found = standing.in_use(survey, stands)
    content = publish.content(survey, found, stands)
    needs = in_groups(
        (sender, (entry.message, need))
        for entry in inbox.entries(survey)
        if entry.message.state == "open" and (sender := entry.message.sender) is not None
        for need in entry.needs
    )
    rows = photos.load(survey, {photo for one in found for photo in one.photos})
    return _Known(
        sources=Sources(
            content=content,
            release=prepare(content, publish.policy(survey, internal=False)),
            measurements={p: row.measurement for p, row in rows.items() if row.measurement},
            vernacular={one.scientific_name: one.vernacular_name for one in content.taxa},
            firsts=firsts_of(found),
        ),
        observers={identifier: row.observer for identifier, row in stands.rows.items()},
        needs=needs,
    )


def _letter(
    survey: Survey,
    known: _Known,
    person: people.Person,
    row: MessageRow,
    due: Sequence[Sighting],
    year: int,
    now: datetime,
) -> LetterDraft:
    settings = survey.settings.survey
    language = drafts.language_of_message(survey, row)
    questions, pictures = _open_questions(survey, known.needs.get(person.row, ()))
    return letter_about(
        [told(known.sources, one, vernacular=language == settings.language) for one in due],
        questions,
        pictures,
        to=addressee(row),
        name=row.sender_name or person.name or row.sender_address,
        person=person.code,
        year=year,
        writer=_writer(survey),
        language=language,
        sender=(settings.contact or settings.title, settings.reply_address),
        folder=survey.replies,
        now=now,
    )


def _open_questions(
    survey: Survey, needs: Iterable[tuple[MessageRow, Need]]
) -> tuple[list[OpenQuestion], list[Picture]]:
    """What a person's mails still need from them, with small copies of the photos it is about."""
    questions: list[OpenQuestion] = []
    pictures: dict[str, Picture] = {}
    for row, need in needs:
        kind = ASKED.get(need.kind)
        if kind is None or (need.kind == "clock" and _tells_the_day(survey, row, need)):
            continue
        shown = photos.appearances_of_message(survey, row.row)
        name = next((one.file_name for one in shown if one.photo == need.photo), "")
        more = need.photo and need.photo not in pictures and len(pictures) < MOST_PICTURES
        if more and (content := previews.small(survey, need.photo)):  # else the letter does without
            copy = f"photo-{len(pictures) + 1}.jpg"
            pictures[need.photo] = Picture(name=copy, content=content)
        picture = pictures.get(need.photo)
        questions.append(
            OpenQuestion(
                file_name=name or row.subject,
                day=row.sent_at[:10],
                kind=kind,
                picture=picture.name if picture else "",
            )
        )
    return list(dict.fromkeys(questions)), list(pictures.values())


def _tells_the_day(survey: Survey, row: MessageRow, need: Need) -> bool:
    """Whether a mail says when its photo was taken, whatever the camera's clock shows."""
    shown = photo_list.standing_photos(survey, [row.identifier])
    return any(one.photo == need.photo and one.time_source == "message text" for one in shown)


def _season_of_all(survey: Survey, known: _Known, year: int) -> tuple[str, str]:
    """The letter for everybody, as text and to print, in the survey's folder of replies."""
    language = survey.settings.survey.language
    text = season_for_all(
        known.sources, known.observers, year, writer=_writer(survey), language=language
    )
    code = season_of_all(str(year))
    drafts.keep_earlier(survey, code, text)
    return drafts.write_for_all(survey, code, text)


def _writer(survey: Survey) -> Writer:
    settings = survey.settings.survey
    return Writer(
        survey=settings.title, name=settings.contact, templates=survey.folder / "templates"
    )
