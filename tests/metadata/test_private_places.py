"""Homes, gardens and places to keep, in two batches of mails (tests/data/mails) by two hands.

Of the second, by a hand that knew nothing of the rules, 10 of 13 were not heard at the first
reading and 4 of 12 in vain. Likeness is learned from both: each is read by weights that had not
seen it.
"""

from __future__ import annotations

import pytest
from mails_written import heard, plain_shown

from triage.mail.likeness import likeness
from triage.metadata.private_places import words_of_a_private_place


def test_words_of_a_home_or_of_a_place_to_keep_are_found_however_softly_they_are_put():
    missed, in_vain = heard(words_of_a_private_place, "private", 1)
    assert (len(missed) <= 6, len(in_vain) <= 5) == (True, True), (missed, in_vain)
    missed, in_vain = heard(words_of_a_private_place, "private", 2)
    assert (len(missed) <= 4, len(in_vain) <= 2) == (True, True), (missed, in_vain)


def test_of_plain_mails_hardly_one_is_asked_about_a_home():
    assert len(plain_shown(words_of_a_private_place)) <= 10


@pytest.mark.parametrize(
    "words",
    [
        "For once this isn't from my garden!",
        "Rien chez moi cette année.",
        "Nicht aus unserem Garten, sondern vom Kanal.",
        "Tym razem nie z naszego ogrodu.",
        "Do not publish my name.",
        "What a wonderful place to show my friends, put it on the map!",
        "Po warsztatach w Domu Kultury poszliśmy nad zalew.",
    ],
)
def test_a_place_that_is_no_home_and_no_secret_is_left_alone(words: str):
    assert words_of_a_private_place(words) == ""


@pytest.mark.parametrize(
    "words",
    [
        "I had never seen one in my garden.",
        "Not one came to my pond, but at home, on the bin, this sat.",
    ],
)
def test_a_negation_further_off_leaves_a_home_a_home(words: str):
    assert words_of_a_private_place(words) == words


def test_keeping_a_place_has_weights_of_its_own():
    """What refuses a photo is no word on a place, and the other way about."""
    place, photo = (
        "It is my aunt's pond, so not a soul must know.",
        "My picture must not be printed.",
    )
    assert likeness(place, "private") > likeness(photo, "private")
    assert likeness(photo, "refusal") > likeness(place, "refusal")
