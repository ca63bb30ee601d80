"""Words of several animals; sentences made for these tests, not taken from anybody's mail."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from triage.sightings.words import tells_of_several


@pytest.mark.parametrize(
    "text",
    [
        "Two different ones by the jetty.",
        "These are 3 different dragonflies.",
        "I think they are two quite distinct animals",
        "Careful, not the same individual!",
        "and then another male came",
        "The first is a male, the second a female.",
        "The first one was a damselfly. The second I do not know.",
        "or are these two different ones?",
        "Zwei verschiedene Tiere am Steg.",
        "Es ist nicht dasselbe Tier.",
        "Das erste ist ein Männchen, das zweite ein Weibchen.",
        "ein anderes Individuum",
        "Dwa różne osobniki.",
        "Pierwsza to samiec, druga to samica.",
        "Na drugim zdjęciu inny osobnik",
        "Deux individus différents.",
        "Ce n'est pas la même libellule",
        "Le premier est un mâle, le second une femelle.",
        "Two more dragonflies sent from the pond, a male and a female.",
    ],
)
def test_the_sender_tells_of_several_animals(text):
    assert tells_of_several(text)
    assert tells_of_several(text.upper())


@pytest.mark.parametrize(
    "text",
    [
        "",
        "A dragonfly at Heron Mere, yesterday.",
        "The first from the back, the second from the side.",
        "The same one from two different angles.",
        "Two different views of it, and another photo.",
        "A male and a female in tandem.",
        "It was the first male of the year.",
        "Seen on two different days last week.",
        "Dasselbe Tier von zwei verschiedenen Seiten.",
        "Zwei verschiedene Ansichten.",
        "Ta sama ważka z różnych stron.",
        "La même, sous deux angles différents.",
        "I have no other photo.",
        "It was the first male of the year, other photos follow.",
        "Two more that were sent to me.",
        "Zwei weitere, die mir geschickt wurden.",
    ],
)
def test_several_pictures_are_not_several_animals(text):
    assert not tells_of_several(text)


@settings(deadline=None, max_examples=60)
@given(st.text(max_size=400))
def test_any_text_is_read(text):
    assert tells_of_several(text) in (True, False)


def test_a_long_hostile_text_is_read_in_time():
    # Nested repeats would take ages here; the test would not end.
    assert not tells_of_several("first male " * 20_000)
