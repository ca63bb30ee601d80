"""Answers of mail programs that lose the thread reach their question, and none is swallowed."""

from __future__ import annotations

from pathlib import Path

import pytest
from mail_writing import letter, picture, take_in
from tests_support import NOW

from triage.errors import UnknownError
from triage.inbox import Settlement
from triage.pipeline import drafts, inbox, photo_list, settle, undo
from triage.store import messages
from triage.store.connection import Survey

BO = "Bo Vale <bo@example.org>"
LATER = "Mon, 15 Jun 2026 08:00:00 +0200"


@pytest.fixture
def asked(survey: Survey, tmp_path: Path) -> str:
    """A message of Bo's whose place was asked for."""
    of_survey = survey.settings.survey.model_copy(update={"reply_address": "linnet@example.org"})
    survey.settings = survey.settings.model_copy(update={"survey": of_survey})
    mail = letter(
        "A blue one, 13 June.", number=1, subject="Blue one", sender=BO, pictures=(picture(4),)
    )
    (identifier,) = take_in(survey, tmp_path / "mails", [mail], now=NOW)
    settle.settle(survey, [identifier], Settlement(ask="place"), by="Co", now=NOW)
    return identifier


def answer(survey: Survey, tmp_path: Path, text: str, *, subject: str, sender: str = BO) -> str:
    mail = letter(text, number=9, subject=subject, sender=sender, sent=LATER)
    return take_in(survey, tmp_path / "answers", [mail], now=NOW)[0]


def place(survey: Survey, identifier: str) -> str:
    (photo,) = photo_list.standing_photos(survey, [identifier])
    return photo.locality


def state(survey: Survey, identifier: str) -> str:
    return messages.find(survey, identifier).state


def quoted_draft(survey: Survey) -> str:
    (draft,) = drafts.drafts(survey)
    text = Path(draft.path).read_text("utf-8")
    return "On Sun, 14 Jun 2026 at 20:00, Linnet <linnet@example.org> wrote:\n" + "\n".join(
        f"> {line}" for line in text.partition("\n\n")[2].splitlines() if "q-" not in line
    )


def test_our_own_words_quoted_below_link_the_answer(survey, asked, tmp_path):
    text = f"At Alder Pool.\n\nBo\n\n{quoted_draft(survey)}\n"
    one = answer(survey, tmp_path, text, subject="my answer")
    assert (place(survey, asked), state(survey, asked)) == ("Alder Pool", "settled")
    assert state(survey, one) == "settled"


def test_the_code_in_the_quoted_words_links_the_answer(survey, asked, tmp_path):
    (draft,) = drafts.drafts(survey)
    text = (
        f"At Alder Pool.\n\nOn Sun, 14 Jun 2026, Linnet wrote:\n> copy this into it: {draft.code}\n"
    )
    answer(survey, tmp_path, text, subject="hello")
    assert place(survey, asked) == "Alder Pool"


def test_the_subject_of_the_only_question_links_the_answer(survey, asked, tmp_path):
    answer(survey, tmp_path, "At Alder Pool.", subject="AW: Blue one")
    assert place(survey, asked) == "Alder Pool"


def test_nobody_elses_reply_is_believed(survey, asked, tmp_path):
    answer(
        survey, tmp_path, "At Alder Pool.", subject="Re: Blue one", sender="Eve <eve@example.org>"
    )
    assert (place(survey, asked), state(survey, asked)) == ("", "waiting")


def test_new_photos_on_the_old_subject_are_no_answer(survey, asked, tmp_path):
    mail = letter(
        "Another, at Alder Pool, 14 June.",
        number=8,
        subject="Re: Blue one",
        sender=BO,
        sent=LATER,
        pictures=(picture(7),),
    )
    take_in(survey, tmp_path / "answers", [mail], now=NOW)
    assert (place(survey, asked), state(survey, asked)) == ("", "waiting")


def test_what_may_be_an_answer_is_offered_and_linked_by_one_decision(survey, asked, tmp_path):
    one = answer(survey, tmp_path, "It was at Alder Pool.", subject="the pond")
    assert state(survey, one) == "open"
    (entry,) = (e for e in inbox.entries(survey) if e.message.identifier == one)
    (need,) = entry.needs
    (draft,) = drafts.drafts(survey)
    assert (need.kind, f"--answers {draft.code}" in need.fix) == ("answer", True)
    settle.settle(survey, [one], Settlement(answers=draft.code), by="Co", now=NOW)
    assert (place(survey, asked), state(survey, asked)) == ("Alder Pool", "settled")
    assert state(survey, one) == "settled"
    undo.undo(survey, by="Co", now=NOW)
    assert (place(survey, asked), state(survey, asked)) == ("", "waiting")
    assert state(survey, one) == "open"


def test_an_answer_to_a_question_that_was_not_asked_is_refused(survey, asked, tmp_path):
    one = answer(survey, tmp_path, "It was at Alder Pool.", subject="the pond")
    with pytest.raises(UnknownError, match="no such question"):
        settle.settle(survey, [one], Settlement(answers="q-00000000"), by="Co", now=NOW)
