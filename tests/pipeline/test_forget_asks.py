"""Before a person is forgotten it is said who that is, and the photos may go with them."""

from __future__ import annotations

from pathlib import Path

import pytest
from mail_writing import letter, picture, take_in
from tests_support import DEMO, NOW
from typer.testing import CliRunner

from triage.cli import main, register_commands
from triage.cli.app import app
from triage.demo.walk import import_tables
from triage.inbox import Settlement
from triage.pipeline import inbox, persons, photo_list, settle, standing
from triage.store import messages, people
from triage.store.connection import Survey, create_survey, open_survey

SAM = "sam.ferry@example.org"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    folder = tmp_path / "survey"
    create_survey(folder, title="Linnet Water Survey")
    with open_survey(folder) as survey:
        import_tables(survey, DEMO, now=NOW)
        image = picture(41, taken="2026:06:14 12:00:00")
        mail = letter("Seen at Heron Mere.", number=1, pictures=(image,))
        take_in(survey, tmp_path / "mails", [mail], now=NOW)
    return folder


def answers(folder: Path, typed: str) -> str:
    register_commands()
    return CliRunner().invoke(app, ["forget", SAM, "--survey", str(folder)], input=typed).output


def known(folder: Path) -> list[str]:
    with open_survey(folder) as survey:
        return [address for one in people.all_people(survey) for address in one.addresses]


def stands(survey: Survey) -> list[str]:
    return [one.publication for one in photo_list.standing_photos(survey)]


def test_it_names_whom_it_will_forget_and_no_keeps_them(folder):
    said = answers(folder, "n\n")
    assert f"Sam Ferry ({SAM})" in said
    assert "1 message, 1 photo" in said
    assert "Nobody was removed, and nothing was changed." in said
    assert known(folder) == [SAM]


def test_nobody_by_that_address_is_said_before_anything_is_asked(folder, capsys):
    assert main(["forget", "nobody@example.org", "--survey", str(folder), "--yes"]) == 1
    assert "nobody here is known by that address or code" in capsys.readouterr().err


@pytest.mark.parametrize(("typed", "photos", "state"), [
    ("y\ny\n", [], "set aside"), ("y\nn\n", [""], "queued"),
])  # fmt: skip
def test_the_photos_go_too_if_that_is_wanted(folder, typed, photos, state):
    said = answers(folder, typed)
    assert "Drop the 1 photo too? They are deleted for good." in said
    assert known(folder) == []
    with open_survey(folder) as survey:
        assert stands(survey) == photos
        assert [one.state for one in standing.sightings(survey)] == [state]


def test_words_alone_of_a_forgotten_person_ask_nobody_for_anything(folder, tmp_path):
    with open_survey(folder) as survey:
        mails = [letter("What did I see?", number=2), letter("And the place?", number=3)]
        open_one, asked = take_in(survey, tmp_path / "more", mails, now=NOW)
        section = survey.settings.survey.model_copy(update={"reply_address": "linnet@example.org"})
        survey.settings = survey.settings.model_copy(update={"survey": section})
        settle.settle(survey, [asked], Settlement(ask="original"), by="Co", now=NOW)
        persons.forget(survey, SAM, now=NOW)
        for one in (open_one, asked):
            row = messages.find(survey, one)
            assert (row.state, row.state_reason) == ("set aside", "its sender was forgotten")
        assert [entry.message.identifier for entry in inbox.entries(survey)] == []
