"""The log names mails, photos and sightings as a person knows them."""

from __future__ import annotations

import pytest
from mail_writing import letter, picture, take_in
from tests_support import NOW

from triage.cli import main
from triage.inbox import Settlement
from triage.pipeline import correct, edit, persons, settle, standing
from triage.pipeline.log import log_of, words_of
from triage.store.actions import Named
from triage.store.connection import Survey


def newest(survey: Survey) -> str:
    return log_of(survey, limit=1, reader="", blind=False)[0].summary


@pytest.fixture
def mail(survey: Survey, tmp_path) -> str:
    """A mail of Zdenka Quill with one photo."""
    one = letter(
        "Seen at Heron Mere.",
        number=1,
        subject="A visitor\tat last",
        sender="Zdenka Quill <quill@example.org>",
        pictures=(picture(71, taken="2026:06:14 12:00:00"),),
    )
    return take_in(survey, tmp_path / "mails", [one], now=NOW)[0]


def test_a_mail_a_photo_and_a_sighting_are_named(survey: Survey, mail: str):
    settle.settle(survey, [mail], Settlement(date="2026-06-13"), by="Co", now=NOW)
    told = '"A visitor at last", 2026-06-14, Zdenka Quill'
    assert newest(survey) == f"message {mail[:10]} ({told}): date 2026-06-13"
    (one,) = [s for s in standing.sightings(survey) if s.event_date == "2026-06-13"]
    correct.correct(survey, one.photos[0], field="view", value="dorsal", by="Co", now=NOW)
    assert newest(survey) == f"photo {one.photos[0][:10]} p1-0.jpg ({told}): view dorsal"
    edit.set_aside(survey, one.identifier, "a drawing", by="Co", now=NOW)
    where = "(2026-06-13, Heron Mere)"
    assert newest(survey) == f"sighting {one.identifier[:10]} {where}: set aside: a drawing"
    edit.set_aside(survey, one.identifier, "", by="Co", now=NOW, back=True)
    assert newest(survey) == f"sighting {one.identifier[:10]} {where}: put back"


def test_several_mails_are_each_named(survey: Survey, mail: str, tmp_path):
    (other,) = take_in(survey, tmp_path / "mails", [letter("Hello.", number=2)], now=NOW)
    settle.settle(survey, [mail, other], Settlement(set_aside="words only"), by="Co", now=NOW)
    assert newest(survey) == (
        f'message {mail[:10]} ("A visitor at last", 2026-06-14, Zdenka Quill),'
        f" {other[:10]} (2026-06-14, Sam Ferry): set aside: words only"
    )


def test_after_forgetting_the_log_tells_nothing_of_the_person(survey: Survey, mail: str, capsys):
    settle.settle(survey, [mail], Settlement(accept=True), by="Co", now=NOW)
    code = persons.whom(survey, "quill@example.org").person.code
    persons.forget(survey, "quill@example.org", now=NOW)
    lines = [one.summary for one in log_of(survey, limit=9, reader="", blind=False)]
    assert lines[1] == f"message {mail[:10]} (2026-06-14, {code}): accepted"
    assert not any(word in line for line in lines for word in ("Quill", "visitor", "p1-0"))
    assert main(["log", "--survey", str(survey.folder), "--json"]) == 0
    assert "Quill" not in capsys.readouterr().out


def test_what_nothing_is_known_of_and_what_is_no_identifier_stay(survey: Survey):
    from triage.store import actions

    for summary in ("photo 0123456789ab: view dorsal", "deadbeefcafe", "lot 202606130001: 3 skins"):
        with actions.acting(survey, "test", summary, by="Co", now=NOW):
            pass
        assert newest(survey) == summary


@pytest.mark.parametrize(
    ("known", "words"),
    [
        (Named(), ""),
        (Named(day="2026-06-14"), "(2026-06-14)"),
        (Named(file_name="p1.jpg"), "p1.jpg"),
        (
            Named(latitude=53.9, longitude=21.7, day="2026-06-14"),
            "(2026-06-14, 53.90000, 21.70000)",
        ),
        (Named(subject="x" * 60), f'("{"x" * 47}...")'),
    ],
)
def test_a_name_is_as_long_as_what_is_known(known: Named, words: str):
    assert words_of(known) == words
