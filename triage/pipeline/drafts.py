"""Draft the questions to senders; show every drafted letter, change its words, lay it out to print.

Nothing is ever sent from here.
"""

from __future__ import annotations

from datetime import datetime
from itertools import count
from pathlib import Path

from triage.errors import SettingsError, UnknownError
from triage.mail.kept import MessageRow
from triage.pipeline import message_page
from triage.replies.drafted import (
    Draft,
    Drafted,
    QuestionRow,
    addressee,
    earlier,
    is_for_all,
    season_of_all,
)
from triage.replies.drafting import AskedMessage, Asker, draft_reply
from triage.replies.editing import LETTER_LENGTH, Letter, read_letter, with_words
from triage.replies.language import language_of
from triage.replies.marks import question_code
from triage.replies.wording import Question, question_called
from triage.report.paper import letter_pdf
from triage.standards.counting import counted
from triage.standards.letters import alphabetical
from triage.store import letters, messages, people, photos, questions, whole_files
from triage.store.connection import Survey

MOST_WATERS = 8  # named in one question


def ask(survey: Survey, row: MessageRow, wanted: str, *, action: int, now: datetime) -> str:
    """Draft a question to the sender of a message; returns the name of the draft.

    Raises
    ------
    UnknownError
        If there is no such question, or nobody to ask.
    SettingsError
        If the survey has no address of its own.
    """
    what = question_called(wanted)
    require_address(survey, "a question")
    if not row.sender_address:
        raise UnknownError(
            "the message names no sender who could be asked",
            failing=f"message {row.identifier[:12]}",
            next_step="Settle it with --site, --date, --accept or --set-aside REASON.",
        )
    asked_before = questions.count_drafted(survey, row.row, what)
    code = question_code(row.identifier, what, number=asked_before + 1)
    name = f"{code}.eml"
    (survey.replies / name).write_bytes(_draft(survey, row, what, code, now))
    questions.add(survey, code=code, message=row.row, what=what, draft_name=name, action=action)
    return name


def remove_unsent(survey: Survey, question: QuestionRow, *, now: datetime) -> None:
    """Take away the draft of a question that was taken back, unless its answer has come."""
    if question.answered_by is None and question.draft_name:
        (survey.replies / question.draft_name).unlink(missing_ok=True)


def write_again(survey: Survey, question: QuestionRow, *, now: datetime) -> None:
    """Draft anew a question that is asked after all."""
    row = messages.by_row(survey, question.message)
    path = survey.replies / question.draft_name
    if question.answered_by is None and not path.exists():
        path.write_bytes(_draft(survey, row, question_called(question.what), question.code, now))


def require_address(survey: Survey, noun: str) -> None:
    """Refuse to draft anything while nobody could answer it.

    Raises
    ------
    SettingsError
        If the survey has no address of its own.
    """
    if not survey.settings.survey.reply_address:
        raise SettingsError(
            f"{noun} needs the survey's own address",
            failing="reply_address in [survey] of survey.toml",
            next_step='Set it, such as reply_address = "linnet@example.org", then try again.',
        )


def _draft(survey: Survey, row: MessageRow, what: Question, code: str, now: datetime) -> bytes:
    settings = survey.settings
    shown = photos.appearances_of_message(survey, row.row)
    return draft_reply(
        AskedMessage(
            to=addressee(row),
            sent_on=row.sent_at[:10],
            places=_waters(survey, row),
            photos=tuple(dict.fromkeys(one.file_name for one in shown if one.file_name)),
        ),
        what,
        code=code,
        asker=Asker(
            survey=settings.survey.title,
            address=settings.survey.reply_address,
            name=settings.survey.contact,
            licence_uri=settings.publishing.asked_photo_licence,
        ),
        now=now,
        language=language_of_message(survey, row),
        templates=survey.folder / "templates",
    )


def _waters(survey: Survey, row: MessageRow) -> tuple[str, ...]:
    """Waters to choose from that may be named to anybody: first those that the words may mean."""
    whole = message_page.whole_message(survey, row.identifier)
    rest = sorted(whole.sites, key=lambda near: alphabetical(near.site.locality))
    named = (
        near.site.locality
        for near in (*whole.meant, *rest)
        if not near.site.private and not near.site.sensitivity
    )
    return tuple(dict.fromkeys(named))[:MOST_WATERS]


def language_of_message(survey: Survey, row: MessageRow) -> str:
    """The language that the sender wrote in; the survey's where too few words tell."""
    text = messages.own_text(survey, row.row)
    return language_of(f"{row.subject}\n{text}", otherwise=survey.settings.survey.language)


def drafts(survey: Survey) -> list[Draft]:
    """Every question that was drafted and not taken back."""
    return [
        Draft(
            code=question.code,
            what=question.what,
            message=question.identifier,
            path=str(survey.replies / question.draft_name),
            answered=question.answered_by is not None,
        )
        for question in questions.live(survey)
    ]


def drafted(survey: Survey) -> list[Drafted]:
    """Every draft that lies in the survey's folder of replies: the newest of each kind first."""
    there = {path.stem for path in survey.replies.glob("*.eml")}
    names = {one.row: one.name or one.code for one in people.all_people(survey)}
    told = [
        Drafted(
            code=Path(one.draft_name).stem,
            kind=one.kind,
            to=names.get(one.person, ""),
            about=counted(len(one.said), "sighting"),
            year=one.year,
        )
        for kind in ("season", "thanks")
        for one in reversed(letters.live(survey, kind))
    ]
    asked = [
        Drafted(
            code=Path(one.draft_name).stem,
            kind="question",
            to=one.sender_name,
            about=one.what,
            answered=one.answered_by is not None,
        )
        for one in reversed(questions.live(survey))
    ]
    return [one for one in (*told, *asked) if one.code in there]


def for_everybody(survey: Survey) -> list[str]:
    """The codes of the season letters to all, the newest year first, earlier words behind it."""
    found = (path.stem for path in survey.replies.glob(f"{season_of_all('*')}*.txt"))
    return sorted(filter(is_for_all, found), key=lambda code: (-int(code[7:11]), len(code), code))


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
        write_for_all(survey, code, "\n".join(words[:LETTER_LENGTH].splitlines()) + "\n")
        return
    with whole_files.written(path) as part:
        part.write_bytes(with_words(path.read_bytes(), words))


def write_for_all(survey: Survey, code: str, text: str) -> tuple[str, str]:
    """Write a letter to all, as text and to print; returns where both lie."""
    plain, printed = (survey.replies / f"{code}{ending}" for ending in (".txt", ".pdf"))
    plain.write_text(text, encoding="utf-8", newline="\n")
    printed.write_bytes(_printed(survey, Letter(to="", subject="", words=text), headed=True))
    return str(plain), str(printed)


def keep_earlier(survey: Survey, code: str, text: str) -> None:
    """Keep the words of a letter to all, perhaps changed by somebody, before it is drafted anew.

    They become a letter of their own; the same words need not be kept.
    """
    path = survey.replies / f"{code}.txt"
    if not path.is_file() or (words := path.read_text(encoding="utf-8")) == text:
        return
    numbers = (number for number in count(1) if not _there(survey, earlier(code, number)))
    write_for_all(survey, earlier(code, next(numbers)), words)


def _there(survey: Survey, code: str) -> bool:
    return (survey.replies / f"{code}.txt").exists()


def sheet(survey: Survey, code: str) -> bytes:
    """The letter as A4 pages (PDF), to be sent by post or pinned up."""
    return _printed(survey, letter(survey, code), headed=is_for_all(code))


def _printed(survey: Survey, letter: Letter, *, headed: bool) -> bytes:
    around = survey.settings.survey
    return letter_pdf(
        letter.words,
        title=around.title,
        language=language_of(letter.words, otherwise=around.language),
        headed=headed,
        pictures=letter.pictures,
    )


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
    return survey.replies / f"{code}{'.txt' if is_for_all(code) else '.eml'}"
