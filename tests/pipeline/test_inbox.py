"""The coordinator's loop: what needs a human, its fix, the question and the answer."""

from __future__ import annotations

import mailbox
import re
from contextlib import closing
from dataclasses import replace
from email import message_from_bytes, policy
from email.message import EmailMessage
from pathlib import Path

import pytest
from tests_support import DEMO, NOW

from triage.cli import main
from triage.errors import UnknownError
from triage.pipeline import correct, drafts, inbox, receive, settle, standing, undo
from triage.pipeline.examine import examine
from triage.pipeline.settle import Settlement
from triage.store.connection import Survey
from triage.store.dump import canonical_dump


def needing(survey: Survey, kind: str) -> str:
    """The first message that needs this."""
    return next(
        entry.message.identifier
        for entry in inbox.entries(survey)
        if kind in {need.kind for need in entry.needs}
    )


def state(survey: Survey, identifier: str) -> str:
    from triage.store import messages

    return messages.find(survey, identifier).state


def photo_of(box: Path, message_id: str) -> bytes:
    """The first picture of a mail in the demo inbox."""
    with closing(mailbox.mbox(box, create=False)) as mails:
        for mail in mails:
            if message_id in mail["Message-ID"]:
                return next(
                    part.get_payload(decode=True)
                    for part in mail.walk()
                    if part.get_content_maintype() == "image"
                )
    raise AssertionError(f"{message_id} is not in the demo inbox")


@pytest.fixture
def placeless(survey: Survey, tmp_path: Path) -> str:
    """A message with a photo and no place."""
    picture = photo_of(DEMO / "inbox.mbox", "no-place.20260820@example.org")
    mail = EmailMessage()
    mail["From"] = "Sam Ferry <sam.ferry@example.org>"
    mail["To"] = "linnet@example.org"
    mail["Date"] = "Tue, 21 Jul 2026 18:00:00 +0200"
    mail["Subject"] = "A visitor"
    mail["Message-ID"] = "<visitor@example.org>"
    mail.set_content("Seen on 20 July 2026, no idea what it is.\n\nSam\n")
    mail.add_attachment(picture, maintype="image", subtype="jpeg", filename="nowhere.jpg")
    path = tmp_path / "visitor.eml"
    path.write_bytes(mail.as_bytes())
    receive.take_in(survey, [path], now=NOW)
    examine(survey, now=NOW, processes=0)
    from triage.store import messages

    return messages.find(survey, "visitor@example.org").identifier


def test_every_option_that_a_row_offers_is_one_of_settle(survey: Survey, capsys):
    assert main(["settle", "--help"]) == 0
    known = set(re.findall(r"--[a-z-]+", capsys.readouterr().out))
    needs = [need for entry in inbox.entries(survey) for need in entry.needs]
    offered = {word for need in needs for word in re.findall(r"(?<!\S)--[a-z-]+", need.fix)}
    assert offered
    assert offered <= known | {"--files", "--publication"}  # of "triage inbox" and "correct"
    silent = [need.kind for need in needs if "--" not in need.fix and "triage " not in need.fix]
    assert silent == []


def test_a_wrong_clock_is_shown_and_a_date_settles_it(survey: Survey):
    identifier = needing(survey, "clock")
    settle.settle(survey, [identifier], Settlement(date="2026-06-20"), by="Co", now=NOW)
    assert state(survey, identifier) == "settled"


def test_correcting_the_camera_moves_every_photo_of_the_message(survey: Survey):
    identifier = needing(survey, "clock")
    year = 365 * 86_400.0
    settle.settle(survey, [identifier], Settlement(camera_offset_seconds=year), by="Co", now=NOW)
    assert state(survey, identifier) == "settled"
    dates = {one.event_date[:10] for one in standing.sightings(survey)}
    assert "2025-06-20" not in dates
    undo.undo(survey, by="Co", now=NOW)
    assert state(survey, identifier) == "open"


def test_a_site_settles_a_message_without_place(survey: Survey, placeless: str):
    assert state(survey, placeless) == "open"
    settle.settle(survey, [placeless], Settlement(site="heron mere"), by="Co", now=NOW)
    assert state(survey, placeless) == "settled"


def test_the_newest_date_and_the_newest_place_stand(survey: Survey, placeless: str):
    from triage.store import messages, photos

    for date in ("2026-07-18", "2026-07-19"):
        settle.settle(survey, [placeless], Settlement(date=date), by="Co", now=NOW)
    settle.settle(survey, [placeless], Settlement(site="heron mere"), by="Co", now=NOW)
    row = messages.find(survey, placeless).row
    (shown,) = photos.appearances_of_message(survey, row)
    correct.correct(survey, shown.photo, field="place", value="Alder Pool", by="Co", now=NOW)
    (one,) = [s for s in standing.sightings(survey) if shown.photo in s.photos]
    assert (one.event_date, one.locality) == ("2026-07-19", "Alder Pool")
    undo.undo(survey, by="Co", now=NOW)
    (one,) = [s for s in standing.sightings(survey) if shown.photo in s.photos]
    assert one.locality == "Heron Mere"


def test_an_unknown_site_is_refused_and_nothing_changes(survey: Survey, placeless: str):
    with pytest.raises(UnknownError, match="no site has that name"):
        settle.settle(survey, [placeless], Settlement(site="Nowhere"), by="Co", now=NOW)
    assert state(survey, placeless) == "open"


def test_a_message_set_aside_keeps_its_reason(survey: Survey):
    identifier = inbox.entries(survey)[0].message.identifier
    (row,) = settle.settle(survey, [identifier], Settlement(set_aside="a test"), by="Co", now=NOW)
    assert (row.state, row.state_reason) == ("set aside", "a test")


def test_a_question_is_drafted_never_sent_and_its_answer_settles_the_message(
    survey: Survey, placeless: str, tmp_path: Path
):
    survey.settings = survey.settings.model_copy(
        update={
            "survey": survey.settings.survey.model_copy(
                update={"reply_address": "linnet@example.org"}
            )
        }
    )
    settle.settle(survey, [placeless], Settlement(ask="place"), by="Co", now=NOW)
    assert state(survey, placeless) == "waiting"
    (draft,) = drafts.drafts(survey)
    question = message_from_bytes(Path(draft.path).read_bytes(), policy=policy.default)
    assert question["In-Reply-To"] == "<visitor@example.org>"
    assert "sam.ferry@example.org" in question["To"]

    answer = EmailMessage()
    answer["From"] = "Sam Ferry <sam.ferry@example.org>"
    answer["Date"] = "Wed, 22 Jul 2026 08:00:00 +0200"
    answer["Subject"] = "Re: " + question["Subject"]
    answer["Message-ID"] = "<answer@example.org>"
    answer["In-Reply-To"] = question["Message-ID"]
    answer.set_content("It was at Alder Pool.\n\nSam\n")
    path = tmp_path / "answer.eml"
    path.write_bytes(answer.as_bytes())
    receive.take_in(survey, [path], now=NOW)
    examine(survey, now=NOW, processes=0)
    assert state(survey, placeless) == "settled"
    assert state(survey, "answer@example.org") == "settled"
    assert drafts.drafts(survey)[0].answered


def test_an_unknown_question_is_refused(survey: Survey, placeless: str):
    with pytest.raises(UnknownError, match="no such question"):
        settle.settle(survey, [placeless], Settlement(ask="weather"), by="Co", now=NOW)


def test_the_messages_of_one_sender_are_settled_together(survey: Survey, placeless: str):
    found = inbox.open_of_senders(survey, ["SAM.ferry@example.org"])
    assert placeless in found
    settle.settle(survey, found, Settlement(accept=True), by="Co", now=NOW)
    assert {state(survey, one) for one in found} == {"settled"}


def test_undoing_a_settlement_opens_the_message_again(survey: Survey, placeless: str):
    settle.settle(survey, [placeless], Settlement(site="Alder Pool"), by="Co", now=NOW)
    undo.undo(survey, by="Co", now=NOW)
    assert state(survey, placeless) == "open"


def letter(folder: Path, number: int, sender: str, subject: str, text: str, **headers: str) -> Path:
    mail = EmailMessage()
    mail["From"] = sender
    mail["Date"] = f"Wed, 22 Jul 2026 08:00:{number:02d} +0200"
    mail["Subject"] = subject
    mail["Message-ID"] = f"<letter{number}@example.org>"
    for name, value in headers.items():
        mail[name.replace("_", "-")] = value
    mail.set_content(text)
    path = folder / f"letter{number}.eml"
    path.write_bytes(mail.as_bytes())
    return path


def asked(survey: Survey, identifier: str) -> str:
    """Ask for the place; returns the question's Message-ID."""
    section = survey.settings.survey.model_copy(update={"reply_address": "linnet@example.org"})
    survey.settings = survey.settings.model_copy(update={"survey": section})
    settle.settle(survey, [identifier], Settlement(ask="place"), by="Co", now=NOW)
    draft = message_from_bytes(
        Path(drafts.drafts(survey)[-1].path).read_bytes(), policy=policy.default
    )
    return str(draft["Message-ID"])


def dump(survey: Survey) -> list[str]:

    return list(canonical_dump(survey))


def test_a_machine_that_replies_answers_nothing(survey: Survey, placeless: str, tmp_path: Path):
    question = asked(survey, placeless)
    machine = letter(
        tmp_path,
        1,
        "Sam Ferry <sam.ferry@example.org>",
        "Automatic reply",
        "I am away at Alder Pool.",
        In_Reply_To=question,
        Auto_Submitted="auto-replied",
    )
    receive.take_in(survey, [machine], now=NOW)
    examine(survey, now=NOW, processes=0)
    assert state(survey, placeless) == "waiting"
    assert state(survey, "letter1@example.org") == "set aside"
    assert not drafts.drafts(survey)[0].answered


def test_a_stranger_in_the_thread_does_not_hide_the_answer(
    survey: Survey, placeless: str, tmp_path: Path
):
    question = asked(survey, placeless)
    stranger = letter(
        tmp_path, 1, "Al <al@example.org>", "Re", "Heron Mere, surely.", In_Reply_To=question
    )
    answer = letter(
        tmp_path, 2, "sam.ferry@example.org", "Re", "At Alder Pool.", In_Reply_To=question
    )
    receive.take_in(survey, [stranger, answer], now=NOW)
    examine(survey, now=NOW, processes=0)
    assert state(survey, placeless) == "settled"
    assert state(survey, "letter1@example.org") == "open"
    assert "Alder Pool" in {one.locality for one in standing.sightings(survey)}


def test_a_second_question_waits_although_the_first_was_answered(
    survey: Survey, placeless: str, tmp_path: Path
):
    question = asked(survey, placeless)
    answer = letter(tmp_path, 1, "sam.ferry@example.org", "Re", "No idea.", In_Reply_To=question)
    receive.take_in(survey, [answer], now=NOW)
    examine(survey, now=NOW, processes=0)
    assert state(survey, placeless) == "open"
    asked(survey, placeless)
    examine(survey, now=NOW, processes=0)
    assert state(survey, placeless) == "waiting"


def test_taking_back_a_question_takes_back_what_its_answer_claimed(
    survey: Survey, placeless: str, tmp_path: Path
):
    before = dump(survey)
    question = asked(survey, placeless)
    answer = letter(
        tmp_path, 1, "sam.ferry@example.org", "Re", "At Alder Pool.", In_Reply_To=question
    )
    receive.take_in(survey, [answer], now=NOW)
    examine(survey, now=NOW, processes=0)
    undo.undo(survey, by="Co", now=NOW)
    after = dump(survey)
    assert not any("sender's answer" in line for line in after)
    assert state(survey, placeless) == "open"
    examine(survey, now=NOW, processes=0)
    assert [x for x in dump(survey) if "place claims" in x] == [
        x for x in before if "place claims" in x
    ]


def test_undoing_a_fix_of_a_waiting_message_has_it_wait_again(survey: Survey, placeless: str):
    asked(survey, placeless)
    before = dump(survey)
    settle.settle(survey, [placeless], Settlement(site="Heron Mere"), by="Co", now=NOW)
    assert state(survey, placeless) == "settled"
    undo.undo(survey, by="Co", now=NOW)
    assert state(survey, placeless) == "waiting"
    assert dump(survey) == before


def test_setting_aside_words_without_photos_can_be_undone(survey: Survey, tmp_path: Path):
    path = letter(tmp_path, 1, "Al <al@example.org>", "Hello", "No photo today.")
    receive.take_in(survey, [path], now=NOW)
    examine(survey, now=NOW, processes=0)
    before = dump(survey)
    for settlement in (Settlement(set_aside="words"), Settlement(accept=True)):
        settle.settle(survey, ["letter1@example.org"], settlement, by="Co", now=NOW)
    undo.undo(survey, by="Co", now=NOW)
    assert state(survey, "letter1@example.org") == "set aside"
    undo.undo(survey, by="Co", now=NOW)
    assert state(survey, "letter1@example.org") == "open"
    assert dump(survey) == before


def test_a_settled_message_opens_again_when_its_place_is_gone(survey: Survey, tmp_path: Path):
    from triage.store import evidence

    site = next(one for one in evidence.sites(survey) if one.locality == "Alder Pool")
    evidence.save(survey, [replace(site, location_id="X1", locality="Sandy Hole", aliases=())])
    path = letter(tmp_path, 1, "Al <al@example.org>", "Seen", "At Sandy Hole on 20 July 2026.")
    mail = message_from_bytes(path.read_bytes(), policy=policy.default)
    picture = photo_of(DEMO / "inbox.mbox", "no-place.20260820@example.org")
    mail.add_attachment(picture, maintype="image", subtype="jpeg", filename="b.jpg")
    path.write_bytes(mail.as_bytes())
    receive.take_in(survey, [path], now=NOW)
    examine(survey, now=NOW, processes=0)
    assert state(survey, "letter1@example.org") == "settled"
    evidence.save(survey, [replace(site, location_id="X1", locality="Deep Hole", aliases=())])
    examine(survey, now=NOW, processes=0)
    assert state(survey, "letter1@example.org") == "open"


def test_a_question_without_an_address_of_the_survey_says_what_to_set(
    survey: Survey, placeless: str
):
    from triage.errors import SettingsError

    with pytest.raises(SettingsError, match="reply_address"):
        settle.settle(survey, [placeless], Settlement(ask="place"), by="Co", now=NOW)
    assert state(survey, placeless) == "open"
