"""Who took a photo is said by a person; credit, consent and forgetting follow the photographer."""

from __future__ import annotations

from pathlib import Path

import pytest
from mail_writing import letter, picture, take_in
from tests_support import NOW

from triage.errors import UnknownError
from triage.exports.standing_photos import sentence_of
from triage.inbox import Settlement
from triage.pipeline import (
    audit,
    consents,
    correct,
    inbox,
    persons,
    photo_list,
    publish,
    settle,
    standing,
    undo,
)
from triage.store import people
from triage.store.connection import Survey

BO = "Bo Vale <bo@example.org>"
WORDS = "Seen at Heron Mere on 13 June. My friend Ida Reed took it. You may publish the photos."


@pytest.fixture
def sent(survey: Survey, tmp_path: Path) -> str:
    """A message whose words say that somebody else took its photo."""
    mail = letter(WORDS, number=1, subject="Heron Mere", sender=BO, pictures=(picture(3),))
    (identifier,) = take_in(survey, tmp_path / "mails", [mail], now=NOW)
    return identifier


def kinds(survey: Survey, identifier: str) -> list[str]:
    found = [e for e in inbox.entries(survey) if e.message.identifier == identifier]
    return [need.kind for entry in found for need in entry.needs]


def media(survey: Survey, identifier: str):
    (photo,) = photo_list.standing_photos(survey, [identifier])
    stands = standing.standing(survey)
    content = publish.content(survey, standing.sightings(survey, stands), stands)
    (row,) = (one for one in content.photos if one.sha256 == photo.photo)
    (sighting,) = (one for one in content.sightings if row.sighting == one.identifier)
    return row, sighting, content


def code_of(survey: Survey, name: str) -> str:
    (person,) = (one for one in people.all_people(survey) if one.name == name)
    return person.code


def test_the_words_raise_a_row_with_the_name_and_nothing_is_credited_in_silence(survey, sent):
    (entry,) = (e for e in inbox.entries(survey) if e.message.identifier == sent)
    (need,) = (n for n in entry.needs if n.kind == "photographer")
    assert "My friend Ida Reed took it." in need.text
    assert "--photographer 'Ida Reed'" in need.fix
    row, sighting, content = media(survey, sent)
    assert row.creator == code_of(survey, "Bo Vale")
    assert "another may have taken it" in content.in_doubt[sighting.identifier]


def test_a_grant_beside_photos_of_another_grants_nothing(survey, sent):
    (bo,) = (one for one in people.all_people(survey) if one.name == "Bo Vale")
    assert bo.publish != "yes"


def test_a_name_nobody_bears_is_asked_about_and_nothing_changes(survey, sent):
    with pytest.raises(UnknownError, match="nobody in this survey"):
        settle.settle(survey, [sent], Settlement(photographer="Ida Reed"), by="Co", now=NOW)
    assert "photographer" in kinds(survey, sent)


def name_ida(survey: Survey, sent: str) -> None:
    said = Settlement(photographer="Ida Reed", new_person=True)
    settle.settle(survey, [sent], said, by="Co", now=NOW)


def test_the_named_photographer_has_the_credit_and_is_asked_before_anything_leaves(survey, sent):
    name_ida(survey, sent)
    assert "photographer" not in kinds(survey, sent)
    (photo,) = photo_list.standing_photos(survey, [sent])
    row, sighting, _ = media(survey, sent)
    ida = code_of(survey, "Ida Reed")
    assert (row.creator, sighting.observer) == (ida, ida)
    assert (photo.photographer, photo.sender) == (ida, code_of(survey, "Bo Vale"))
    assert f"taken by {ida}" in sentence_of(photo)
    assert row.held_back == consents.OF_PHOTOGRAPHER
    (need,) = (n for n in audit.record_needs(survey, now=NOW) if n.kind == "photographer")
    assert need.key == ida
    assert "Ida Reed took 1 photo" in need.text


def test_her_own_words_let_it_go_and_undo_holds_it_back_again(survey, sent):
    name_ida(survey, sent)
    ida = code_of(survey, "Ida Reed")
    words = "You may publish my photos with my name under CC BY 4.0."
    consents.record_consent(survey, ida, words, by="Co", now=NOW)
    row, _, content = media(survey, sent)
    assert row.held_back == ""
    assert row.licence.endswith("/by/4.0/")
    assert next(p for p in content.people if p.code == ida).consent_to_name
    undo.undo(survey, by="Co", now=NOW)
    assert media(survey, sent)[0].held_back == consents.OF_PHOTOGRAPHER


def test_words_that_say_nothing_of_publishing_are_refused(survey, sent):
    name_ida(survey, sent)
    with pytest.raises(UnknownError, match="neither grant nor refuse"):
        consents.record_consent(survey, code_of(survey, "Ida Reed"), "ok", by="Co", now=NOW)


def test_undo_gives_the_photo_back_to_its_sender(survey, sent):
    name_ida(survey, sent)
    undo.undo(survey, by="Co", now=NOW)
    row, sighting, _ = media(survey, sent)
    bo = code_of(survey, "Bo Vale")
    assert (row.creator, sighting.observer) == (bo, bo)
    assert "photographer" in kinds(survey, sent)


def test_the_newest_word_wins_and_one_photo_can_be_said_alone(survey, sent):
    name_ida(survey, sent)
    (photo,) = photo_list.standing_photos(survey, [sent])
    said = {"photographer": "Tom Vale"}
    correct.correct_all(survey, photo.photo, said, by="Co", now=NOW, new=True)
    assert media(survey, sent)[0].creator == code_of(survey, "Tom Vale")


def test_a_sighting_that_was_out_in_the_world_follows_too(survey, sent):
    sighting = media(survey, sent)[1]
    with survey.transaction():
        publish.note_out(survey, [sighting.identifier], now=NOW)
    name_ida(survey, sent)
    assert media(survey, sent)[1].observer == code_of(survey, "Ida Reed")


def test_two_people_of_one_photographer_are_joined_and_parted_with_their_photos(survey, sent):
    name_ida(survey, sent)
    mail = letter("Hello", number=2, sender="Ida R. <ida@example.org>")
    take_in(survey, Path(survey.folder) / "more", [mail], now=NOW)
    persons.join(survey, "ida@example.org", code_of(survey, "Ida Reed"), by="Co", now=NOW)
    (ida,) = (p for p in people.all_people(survey) if "ida@example.org" in p.addresses)
    assert media(survey, sent)[0].creator == ida.code
    undo.undo(survey, by="Co", now=NOW)
    assert media(survey, sent)[0].creator == code_of(survey, "Ida Reed") != ida.code


def test_an_own_name_beside_a_photo_is_no_other_photographer(survey, tmp_path):
    mail = letter(
        "Heron Mere, 13 June. Photo: Bo Vale", number=5, sender=BO, pictures=(picture(5),)
    )
    (identifier,) = take_in(survey, tmp_path / "mails", [mail], now=NOW)
    assert "photographer" not in kinds(survey, identifier)


def test_a_photographer_who_sent_the_photo_too_needs_no_second_consent(survey, sent, tmp_path):
    name_ida(survey, sent)
    ida = code_of(survey, "Ida Reed")
    mail = letter("Mine", number=6, sender="Ida Reed <ida@example.org>", pictures=(picture(3),))
    take_in(survey, tmp_path / "hers", [mail], now=NOW)
    assert consents.held_back(survey)
    persons.join(survey, "ida@example.org", ida, by="Co", now=NOW)
    assert consents.held_back(survey) == {}
