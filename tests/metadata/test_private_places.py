"""Homes, gardens and places to keep, in seven batches of mails (tests/data/mails) by seven hands.

Of the second, by a hand that knew nothing of the rules, 10 of 13 were not heard at the first
reading and 4 of 12 in vain; of the five others, which knew nothing either, 11 of 30, 19 of 30, 11
of 30, 19 of 35 and 20 of 35 were not heard, and 9, 7, 6, 8 and 11 in vain of as many that were
made to mislead. Likeness is learned from all: each is read by weights that had not seen its hand.
"""

from __future__ import annotations

import pytest
from mails_written import heard_of_all, plain_shown

from triage.mail.likeness import likenesses_of
from triage.metadata.private_places import words_of_a_private_place

pytestmark = pytest.mark.xdist_group("sentences of volunteers")


def test_homes_and_places_to_keep_are_found_however_softly():
    unheard, others = heard_of_all(words_of_a_private_place, "private")
    assert len(unheard) <= 73, unheard
    assert len(others) <= 41, others


def test_few_plain_mails_are_asked_about_a_home():
    first, later = plain_shown(words_of_a_private_place, "private")
    assert first <= 10
    assert later <= 15


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
        "I left my glasses at home, so it may be blurred.",
        "Tripod stayed at home again.",
        "Mon appareil est resté à la maison.",
        "Den Hund ließen wir zu Hause.",
        "Aparat zostawiłam w domu.",
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
    of_place, of_photo = likenesses_of([place, photo], "private")
    assert of_place > of_photo
    of_place, of_photo = likenesses_of([place, photo], "refusal")
    assert of_photo > of_place
