"""Photos of and by children stay until a guardian has consented, and leave no more when undone."""

from __future__ import annotations

from pathlib import Path

import pytest
from mail_writing import letter, picture, take_in
from tests_support import NOW

from triage.errors import UnknownError
from triage.mail.consent import speaks_of_children
from triage.pipeline import consents, photo_list, publish, standing, undo
from triage.store import consents as kept
from triage.store import people
from triage.store.connection import Survey


@pytest.fixture
def child(survey: Survey) -> people.Person:
    """The sender of the first photo, whose mail says that a child took it."""
    photo, sender, _ = kept.words_beside(survey)[0]
    survey.connection.execute(
        "update envelopes set text = 'My daughter (8) took this, publish it with her name.'"
        " where number = 0 and message_id in"
        " (select message_id from appearances where photo = ?)",
        (photo,),
    )
    return next(p for p in people.all_people(survey) if p.row == sender)


def held(survey: Survey) -> set[str]:
    stands = standing.standing(survey)
    found = standing.sightings(survey, stands)
    content = publish.content(survey, found, stands)
    return {row.sha256 for row in content.photos if row.held_back}


def test_photos_beside_words_of_a_child_are_held_back_until_a_guardian_consents(survey, child):
    assert consents.held_back(survey)
    before = set(consents.held_back(survey))
    assert held(survey) <= before
    consents.record_guardian(survey, child.code, given_by="Ola Wren", by="Co", now=NOW)
    assert not consents.held_back(survey)
    (consent,) = kept.of_guardians(survey)
    assert (consent.given_by, consent.given_on) == ("Ola Wren", "2026-11-01")
    undo.undo(survey, by="Co", now=NOW)
    assert set(consents.held_back(survey)) == before


def test_the_mail_that_gives_it_is_kept_with_its_day(survey, child):
    message = survey.connection.execute(
        "select identifier, sent_at from messages where sender_id = ?", (child.row,)
    ).fetchone()
    consents.record_guardian(
        survey, child.code, given_by="Ola Wren", message=message[0], by="Co", now=NOW
    )
    (consent,) = kept.of_guardians(survey)
    assert (consent.message, consent.given_on) == (message[0], message[1][:10])


def test_nobody_consents_namelessly_or_for_an_unknown_person(survey, child):
    with pytest.raises(UnknownError, match="needs the name"):
        consents.record_guardian(survey, child.code, given_by=" ", by="Co", now=NOW)
    with pytest.raises(UnknownError, match="nobody here"):
        consents.record_guardian(survey, "P-NONE", given_by="Ola Wren", by="Co", now=NOW)


def test_photos_that_a_child_signs_with_an_age_are_held_back(survey: Survey, tmp_path: Path):
    words = "Seen at Heron Mere on 13 June.\n\nBest wishes\nEsme 12"
    mail = letter(words, number=1, sender="Esme <esme@example.org>", pictures=(picture(3),))
    (identifier,) = take_in(survey, tmp_path / "mails", [mail], now=NOW)
    (photo,) = photo_list.standing_photos(survey, [identifier])
    assert consents.held_back(survey)[photo.photo] == consents.OF_CHILD


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ("My daughter (8) took this, publish it with her name", True),
        ("our school class at the pond", True),
        ("Meine Tochter hat das Foto gemacht", True),
        ("moja córka zrobiła to zdjęcie", True),
        ("A female at the pond, laying eggs", False),
        ("I have been doing this since childhood", False),
        ("", False),
    ],
)
def test_words_that_speak_of_a_child_are_known(words, expected):
    assert speaks_of_children(words) is expected
