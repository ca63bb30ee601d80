"""Draft what goes back to people: thanks for what was settled, and letters about a season."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from triage.errors import SettingsError, TriageError
from triage.exports.release import prepare
from triage.inbox import Need
from triage.mail.imap import ImapAccount
from triage.mail.imap_drafts import append_drafts
from triage.pipeline import drafts, inbox, publish, standing
from triage.pipeline.letter_questions import open_questions
from triage.replies import letters as writing
from triage.replies.envelope import Addressee, Picture, draft
from triage.replies.letters import LetterSighting, Season, Writer
from triage.replies.refusals import refuses_letters
from triage.replies.telling import Sources, bred_in, firsts_of, found_by_water, said_of, told
from triage.replies.wording import phrases, say
from triage.report.letter_plot import months_plot
from triage.report.paper import letter_pdf
from triage.sightings import Sighting
from triage.standards.digests import digest_of
from triage.store import actions, letters, messages, people, photos
from triage.store.connection import Survey
from triage.store.letters import LetterRow

SETTLED = ("determined", "undeterminable")


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


@dataclass(frozen=True, slots=True, kw_only=True)
class _Known:
    """What all letters of a run are made from, loaded once: observers by sighting, open needs by
    sender."""

    sources: Sources
    observers: Mapping[str, int | None]
    needs: Mapping[int, list[tuple[messages.MessageRow, Need]]]

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
    _wants_address(survey)
    known = _load(survey)
    before: dict[int, dict[str, str]] = defaultdict(dict)
    for letter in letters.live(survey, "thanks"):
        before[letter.person].update(letter.said)
    due: dict[int, list[Sighting]] = defaultdict(list)
    for sighting in known.sightings:
        observer = known.observers[sighting.identifier]
        if observer is None or sighting.state not in SETTLED:
            continue
        if before[observer].get(sighting.identifier) != said_of(sighting):
            due[observer].append(sighting)

    def write(person: people.Person, row: messages.MessageRow) -> LetterDraft:
        language = drafts.language_of_message(survey, row)
        own = language == survey.settings.survey.language
        found = [told(known.sources, one, vernacular=own) for one in due[person.row]]
        questions, pictures = open_questions(survey, known.needs.get(person.row, ()))
        text = writing.thanks(
            row.sender_name or person.name or row.sender_address,
            found,
            questions,
            writer=_writer(survey),
            language=language,
        )
        subject = phrases(language)["subject_thanks"]
        return _letter(survey, person, row, text, subject, pictures, "thanks", found, now)

    return _drafted(survey, known, due, write, kind="thanks", year=0, by=by, now=now, show=show)


def season(
    survey: Survey, year: int, *, by: str, now: datetime, show: bool = False
) -> LettersOutcome:
    """Draft a letter about a year for each person, and write one for all, also to print.

    Raises
    ------
    SettingsError
        If the survey has no address of its own, or a template is wrong.
    """
    _wants_address(survey)
    known = _load(survey)
    written = {
        letter.person: letter.said
        for letter in letters.live(survey, "season")
        if letter.year == year
    }
    due: dict[int, list[Sighting]] = defaultdict(list)
    for sighting in _of_year(known, year):
        observer = known.observers[sighting.identifier]
        if observer is not None:
            due[observer].append(sighting)
    due = {
        person: found
        for person, found in due.items()
        if written.get(person) != {one.identifier: said_of(one) for one in found}
    }

    def write(person: people.Person, row: messages.MessageRow) -> LetterDraft:
        language = drafts.language_of_message(survey, row)
        own = language == survey.settings.survey.language
        found = [told(known.sources, one, vernacular=own) for one in due[person.row]]
        questions, pictures = open_questions(survey, known.needs.get(person.row, ()))
        of_person = Season(
            year=year,
            months=Counter(int(one.day[5:7]) for one in found if len(one.day) >= 7),
            firsts=tuple(dict.fromkeys(one.short_name for one in found if one.first == "survey")),
        )
        text = writing.season_letter(
            row.sender_name or person.name or row.sender_address,
            of_person,
            found,
            questions,
            writer=_writer(survey),
            language=language,
        )
        title = say(phrases(language)["subject_season"], year=str(year))
        plot = months_plot(of_person.months, title=title)
        pictures = [Picture(name=f"season-{year}.png", content=plot), *pictures]
        return _letter(survey, person, row, text, title, pictures, "season", found, now)

    outcome = _drafted(
        survey, known, due, write, kind="season", year=year, by=by, now=now, show=show
    )
    files = () if show else _season_of_all(survey, known, year)
    return LettersOutcome(
        letters=outcome.letters, skipped=outcome.skipped, stale=outcome.stale, files=files
    )


def append_to_server(account: ImapAccount, outcome: LettersOutcome) -> str:
    """Put the drafted letters into the server's folder of drafts; returns its name."""
    return append_drafts(account, [letter.content for letter in outcome.letters])


def remove_unsent_letters(survey: Survey, action: int) -> None:
    """Take away the drafts of letters that were taken back."""
    for letter in letters.of_action(survey, action):
        (survey.replies / letter.draft_name).unlink(missing_ok=True)


def _drafted(
    survey: Survey,
    known: _Known,
    due: Mapping[int, Sequence[Sighting]],
    write: Callable[[people.Person, messages.MessageRow], LetterDraft],
    *,
    kind: str,
    year: int,
    by: str,
    now: datetime,
    show: bool,
) -> LettersOutcome:
    everybody = {person.row: person for person in people.all_people(survey)}
    stale = _stale(survey, known, kind)
    made: list[tuple[people.Person, LetterDraft]] = []
    skipped: list[str] = []
    for row in sorted(due, key=lambda one: everybody[one].code):
        person = everybody[row]
        mail = letters.newest_mail(survey, row)
        asked = known.needs.get(row, ())
        reason = _reason_for_none(survey, person, mail, [need.kind for _, need in asked])
        if reason or mail is None:
            skipped.append(f"{person.code}: {reason}")
            continue
        try:
            made.append((person, write(person, messages.by_row(survey, mail))))
        except SettingsError:
            raise
        except TriageError as error:
            skipped.append(f"{person.code}: {error}")
    if made and not show:
        _keep(survey, known, made, due, kind=kind, year=year, by=by, now=now)
    return LettersOutcome(
        letters=tuple(letter for _, letter in made), skipped=tuple(skipped), stale=stale
    )


def _keep(
    survey: Survey,
    known: _Known,
    made: Sequence[tuple[people.Person, LetterDraft]],
    due: Mapping[int, Sequence[Sighting]],
    *,
    kind: str,
    year: int,
    by: str,
    now: datetime,
) -> None:
    summary = f"{len(made)} letter(s) drafted: {kind}{f' {year}' if year else ''}"
    with actions.acting(survey, "replies", summary, by=by, now=now) as action:
        for person, letter in made:
            Path(letter.path).write_bytes(letter.content)
            said = {one.identifier: said_of(one) for one in due[person.row]}
            row = LetterRow(
                person=person.row,
                kind=kind,
                year=year,
                draft_name=Path(letter.path).name,
                said=said,
            )
            letters.add(survey, row, action=action, now=now)


def _reason_for_none(
    survey: Survey, person: people.Person, mail: int | None, needs: Sequence[str]
) -> str:
    if not person.addresses:
        return "no address"
    if mail is None:
        return "only machines wrote from there"
    if "delete request" in needs:
        return "asks to have something deleted; settle that first ('triage inbox')"
    if any(refuses_letters(text) for text in letters.texts_of(survey, person.row)):
        return "asked for no letters"
    return ""


def _stale(survey: Survey, known: _Known, kind: str) -> tuple[str, ...]:
    """Drafts that still lie there and say what no longer stands."""
    stands = {one.identifier: said_of(one) for one in known.sightings}
    found = []
    for letter in letters.live(survey, kind):
        changed = [one for one, said in letter.said.items() if stands.get(one) != said]
        if changed and (survey.replies / letter.draft_name).exists():
            found.append(
                f"{letter.draft_name}: {len(changed)} determination(s) in it no longer stand; "
                "delete it if it was not sent"
            )
    return tuple(found)


def _load(survey: Survey) -> _Known:
    stands = standing.standing(survey)
    found = [one for one in standing.sightings(survey, stands) if one.state != "set aside"]
    content = publish.content(survey, found, stands)
    needs: dict[int, list[tuple[messages.MessageRow, Need]]] = defaultdict(list)
    for entry in inbox.entries(survey):
        if entry.message.state == "open" and entry.message.sender is not None:
            needs[entry.message.sender] += [(entry.message, need) for need in entry.needs]
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
    person: people.Person,
    row: messages.MessageRow,
    text: str,
    subject: str,
    pictures: Sequence[Picture],
    kind: str,
    told: Sequence[LetterSighting],
    now: datetime,
) -> LetterDraft:
    settings = survey.settings.survey
    to = drafts.addressee(row)
    if kind == "season":
        to = Addressee(address=to.address, name=to.name)  # a letter of its own, in no thread
    digest = digest_of(f"{kind} {person.code} {text}".encode())[:8]
    content = draft(
        to,
        text,
        from_name=settings.contact or settings.title,
        from_address=settings.reply_address,
        message_id_left=f"{kind}-{digest}.letter",
        subject=subject if kind == "season" else "",
        now=now,
        pictures=pictures,
    )
    return LetterDraft(
        person=person.code,
        path=str(survey.replies / f"{kind}-{person.code}-{digest}.eml"),
        sightings=len(told),
        text=text,
        content=content,
    )


def _of_year(known: _Known, year: int) -> list[Sighting]:
    return [
        one
        for one in known.sightings
        if one.state in SETTLED and one.event_date.startswith(f"{year}-")
    ]


def _season_of_all(survey: Survey, known: _Known, year: int) -> tuple[str, ...]:
    """The letter for everybody, as text and to print, in the survey's folder of replies."""
    came = [one for one in known.sightings if one.event_date.startswith(f"{year}-")]
    found = [one for one in came if one.state == "determined"]
    observers = {known.observers[one.identifier] for one in came} - {None}
    text = writing.season_of_all(
        Season(year=year, months={}),
        sightings=len(came),
        named=len(found),
        people=len(observers),
        by_water=found_by_water(known.sources, found),
        bred=bred_in(known.sources, year),
        writer=_writer(survey),
        language=survey.settings.survey.language,
    )
    return for_all(survey, f"season-{year}-for-all", text)


def for_all(survey: Survey, name: str, text: str) -> tuple[str, str]:
    """Write a letter to all, as text and to print; returns where both lie."""
    plain, printed = (survey.replies / f"{name}{ending}" for ending in (".txt", ".pdf"))
    plain.write_text(text, encoding="utf-8", newline="\n")
    printed.write_bytes(letter_pdf(text, title=survey.settings.survey.title))
    return str(plain), str(printed)


def _writer(survey: Survey) -> Writer:
    settings = survey.settings.survey
    return Writer(
        survey=settings.title, name=settings.contact, templates=survey.folder / "templates"
    )


def _wants_address(survey: Survey) -> None:
    if not survey.settings.survey.reply_address:
        raise SettingsError(
            "a letter needs the survey's own address",
            failing="reply_address in [survey] of survey.toml",
            next_step='Set it, such as reply_address = "linnet@example.org", then try again.',
        )
