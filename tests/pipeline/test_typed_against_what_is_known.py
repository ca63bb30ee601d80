"""What is typed against what the tool knows is shown first and accepted by a second step."""

from __future__ import annotations

from pathlib import Path

import pytest
from mail_writing import letter, picture, take_in
from tests_support import DEMO, NOW, needs

from triage.cli import main
from triage.demo.walk import import_tables
from triage.inbox import Settlement
from triage.pipeline import correct, settle
from triage.store import actions, messages, photos
from triage.store.connection import create_survey, open_survey

OUT = (53.93123, 21.70345)  # three kilometres north of Heron Mere
HOME = (53.9003, 21.7055)  # the demo's private garden pond
NEW = "2026-06-13"


@pytest.fixture
def survey(tmp_path: Path):
    folder = tmp_path / "survey"
    create_survey(folder, title="Linnet Water Survey")
    with open_survey(folder) as opened:
        import_tables(opened, DEMO, now=NOW)
        yield opened


def received(survey, text: str, **of_picture) -> str:
    mail = letter(text, number=1, pictures=(picture(51, **of_picture),))
    (message,) = take_in(survey, survey.folder.parent / "mails", [mail], now=NOW)
    return message


CLOCK = {"taken": "2026:06:14 12:00:00"}
FIXED = CLOCK | {"point": OUT}
CASES = [
    # the mail's words, what its photo says, what is typed, what is asked then
    ("At Heron Mere.", CLOCK, {"date": "2026-06-10"}, "date doubt"),
    ("At Heron Mere.", CLOCK, {"date": "2026-06-14T09:00"}, "date doubt"),
    ("At Heron Mere.", CLOCK, {"date": "2026-06-10/2026-06-12"}, "date doubt"),
    ("At Heron Mere.", {}, {"date": "2026-06-20"}, "date doubt"),  # sent on the 14th
    ("At Heron Mere.", {}, {"date": "2026-06-14T21:00"}, "date doubt"),
    ("Here it is.", FIXED, {"site": "Alder Pool"}, "place doubt"),
    ("Here it is.", FIXED, {"site": "53.8, 21.5"}, "place doubt"),
    ("Here it is.", FIXED | {"point": HOME}, {"site": "Heron Mere"}, "private place"),
    ("In our garden.", FIXED, {"site": "Heron Mere"}, "private place"),
    ("At Heron Mere.", CLOCK, {"camera_offset_seconds": 86_400.0}, "date doubt"),
    (
        "At Heron Mere.",
        FIXED | {"fixed_at": "2026:06:14 10:00:00"},
        {"camera_offset_seconds": -7_200.0},
        "date doubt",
    ),
]  # fmt: skip
CASES += [
    ("Seen yesterday at Heron Mere.", {}, {"site": "54.9021, 21.6954"}, "place doubt"),  # a digit
    ("Seen yesterday at Heron Mere.", {}, {"site": "53.9201, 21.6954"}, "place doubt"),
]
IN_KEEPING = [
    ("Seen yesterday at Heron Mere.", {}, {"site": "53.9021, 21.6954"}),
    ("Seen yesterday at Heron Mere.", {}, {"site": "Alder Pool"}),  # the words put right
    ("At Heron Mere.", CLOCK, {"date": "2026-06-14"}),
    ("At Heron Mere.", CLOCK, {"date": "2026-06-13/2026-06-14"}),
    ("At Heron Mere.", {}, {"date": "2026-06-14"}),
    ("At Heron Mere.", {}, {"date": "2026-06-14T17:00"}),
    ("Here it is.", CLOCK, {"site": "Heron Mere"}),
    ("Here it is.", FIXED, {"site": "53.9312, 21.7034"}),
    ("Not Heron Mere this time but Alder Pool.", CLOCK, {"site": "Alder Pool"}),
    ("At Heron Mere or Alder Pool.", CLOCK, {"site": "Alder Pool"}),
    ("At Alder Pool.", FIXED, {"site": "Alder Pool"}),  # both had been shown
    ("Seen yesterday at Heron Mere.", CLOCK | {"offset": ""}, {"date": NEW}),
    ("At Heron Mere.", CLOCK, {"camera_offset_seconds": -3_600.0}),
]


@pytest.mark.parametrize(("text", "taken", "typed", "asked"), CASES)
def test_what_is_typed_and_accepted_at_once_is_shown_first(survey, text, taken, typed, asked):
    message = received(survey, text, **taken)
    heard: list[str] = []
    for told in (heard, []):  # the same words again are no second step
        settle.settle(
            survey, [message], Settlement(accept=True, **typed), by="Co", now=NOW, tell=told.append
        )
        assert asked in needs(survey, message)
        assert any("stays open, this is new" in one for one in told)
    assert actions.log(survey)[0].summary.endswith("; left open by a doubt that it raised")
    settle.settle(survey, [message], Settlement(accept=True), by="Co", now=NOW)
    assert messages.find(survey, message).state == "settled"


@pytest.mark.parametrize(("text", "taken", "typed", "asked"), CASES)
def test_what_is_typed_alone_is_shown_too_and_opens_what_was_settled(
    survey, text, taken, typed, asked
):
    message = received(survey, text, **taken)
    settle.settle(survey, [message], Settlement(accept=True), by="Co", now=NOW)
    field = next(iter(typed))
    if field == "camera_offset_seconds":
        settle.settle(survey, [message], Settlement(**typed), by="Co", now=NOW)
    else:
        [one] = photos.appearances_of_message(survey, messages.find(survey, message).row)
        name = {"date": "time", "site": "place"}[field]
        correct.correct(survey, one.photo, field=name, value=typed[field], by="Co", now=NOW)
    assert asked in needs(survey, message)


@pytest.mark.parametrize(("text", "taken", "typed"), IN_KEEPING)
def test_what_is_typed_in_keeping_is_accepted_at_once(survey, text, taken, typed):
    message = received(survey, text, **taken)
    settle.settle(survey, [message], Settlement(accept=True, **typed), by="Co", now=NOW)
    assert messages.find(survey, message).state == "settled"


@pytest.mark.parametrize(("typed", "state"), [("2026-06-10", "open"), ("2026-06-14", "set aside")])
def test_what_is_typed_is_shown_before_the_message_is_set_aside(survey, typed, state):
    message = received(survey, "At Heron Mere.", **CLOCK)
    aside = Settlement(date=typed, set_aside="not ours")
    settle.settle(survey, [message], aside, by="Co", now=NOW)
    assert messages.find(survey, message).state == state


def test_of_several_messages_those_stay_open_that_a_doubt_was_raised_of(survey):
    sent = [
        letter("At Heron Mere.", number=n, pictures=(picture(n, taken=f"2026:06:{n} 12:00:00"),))
        for n in (10, 14)
    ]
    both = take_in(survey, survey.folder.parent / "mails", sent, now=NOW)
    accepted = Settlement(date="2026-06-10", accept=True)
    rows = settle.settle(survey, both, accepted, by="Co", now=NOW)
    assert sorted(row.state for row in rows) == ["open", "settled"]
    (held,) = (row.identifier[:12] for row in rows if row.state == "open")
    assert actions.log(survey)[0].summary.endswith(f"; {held} left open by a doubt that it raised")


def test_the_command_says_what_is_new_and_how_it_is_accepted(survey, capsys):
    message = received(survey, "At Heron Mere.", **CLOCK)
    folder = str(survey.folder)
    assert main(["settle", message, "--date", "2026-06-10", "--accept", "--survey", folder]) == 0
    printed = "".join(capsys.readouterr())
    assert "what you typed is 2026-06-10, the camera clock says 2026-06-14 12:00:00" in printed
    assert "stays open, this is new" in printed
    assert main(["settle", message, "--accept", "--survey", folder]) == 0
    assert "settled: accepted as it is" in "".join(capsys.readouterr())
