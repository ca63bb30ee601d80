"""The story of the demo, as its data files tell it, holds together."""

from __future__ import annotations

import pytest

from triage.demo.letters import letters
from triage.demo.looks import LOOKS
from triage.demo.scenario import DEVICES, PEOPLE, WATERS, Letter, Picture


def every_letter() -> list[Letter]:
    return [one for letter in letters() for one in (*letter.forwards, letter)]


PICTURES = [(letter, picture) for letter in every_letter() for picture in letter.pictures]


def test_letters_come_in_the_order_of_their_dates_and_each_has_its_own_key():
    days = [letter.day for letter in letters()]
    keys = [letter.key for letter in every_letter()]
    assert days == sorted(days)
    assert len(set(keys)) == len(keys)


def test_every_letter_is_from_somebody_of_the_story():
    assert {letter.sender for letter in every_letter()} <= set(PEOPLE)


@pytest.mark.parametrize(("letter", "picture"), PICTURES, ids=lambda one: getattr(one, "key", ""))
def test_a_picture_names_a_camera_a_water_and_a_species_that_exist(
    letter: Letter, picture: Picture
):
    assert picture.device in DEVICES
    assert picture.spot in {"", *WATERS}
    assert picture.taken is None or picture.taken < letter.day
    if picture.shot is not None:
        assert picture.shot.subject in {*LOOKS, "exuvia", "figure", "nothing"}


def test_a_picture_is_taken_once_and_copied_only_after_it_was_sent():
    sent = [picture for letter in letters() for picture in letter.pictures]
    for number, picture in enumerate(sent):
        assert (picture.shot is None) == bool(picture.copy_of)
        if picture.copy_of:
            assert picture.copy_of in {earlier.file_name for earlier in sent[:number]}


def test_no_two_shots_from_one_side_are_framed_alike():
    frames = [
        (shot.centre, shot.roll, shot.pan)
        for _, picture in PICTURES
        if (shot := picture.shot) is not None and shot.centre != (0.5, 0.5)
    ]
    assert len(set(frames)) == len(frames) > 40


def test_an_answer_names_the_letter_that_it_answers():
    known = {letter.identifier() for letter in every_letter()}
    assert {letter.in_reply_to for letter in every_letter() if letter.in_reply_to} <= known
