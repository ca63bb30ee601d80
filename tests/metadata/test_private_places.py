"""Homes, gardens and places to keep; sentences made for these tests."""

from __future__ import annotations

import pytest

from triage.metadata.private_places import words_of_a_private_place


@pytest.mark.parametrize(
    "words",
    [
        "In my garden, our own little pond.",
        "Seen from our balcony this morning.",
        "At home, on the washing line.",
        "Please do not publish the place.",
        "Please don't tell anybody where it was.",
        "Could you keep the location to yourselves?",
        "Gesehen in unserem Garten.",
        "Am Gartenteich, bei Sonne.",
        "Den Fundort bitte nicht veröffentlichen.",
        "Bitte die Adresse vertraulich behandeln.",
        "W moim ogrodzie, przy oczku.",
        "Proszę nie publikować dokładnego miejsca.",
        "Dans mon jardin, sur la menthe.",
        "Ne montrez pas le lieu, s'il vous plaît.",
    ],
)
def test_words_of_a_home_or_of_a_place_to_keep_are_found(words):
    assert words_of_a_private_place(f"Hello. {words} Ida") == words


@pytest.mark.parametrize(
    "words",
    [
        "At Heron Mere, near the car park.",
        "Do not publish my name.",
        "What a fine place to show my friends!",
        "The location is a garden centre's lake by the main road.",
        "Heute am Engelsee, nicht weit vom Ort.",
        "Bei uns am See.",
        "Nad jeziorem, w słońcu.",
        "Au bord du lac.",
    ],
)
def test_other_words_of_places_are_left_alone(words):
    assert words_of_a_private_place(words) == ""
