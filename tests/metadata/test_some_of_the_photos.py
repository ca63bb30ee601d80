"""A place that is said of some of a mail's photos never stands for all of them."""

from __future__ import annotations

import pytest

from tests.metadata.test_mails_of_volunteers import Mail, standing


def places(text: str) -> set[str]:
    mail: Mail = {
        "sent": "2026-07-21",
        "subject": "Three photos",
        "text": f"Hello,\n\n{text}\n\nTim",
        "place": "",
        "when": "",
    }
    return standing(mail)[0]


@pytest.mark.parametrize(
    "text",
    [
        "Photo 1 Teal Pool, photo 2 Rushy Fleet, photo 3 the Alder Carr.",
        "Photo 1 Teal Pool, photo 2 the ditch.",
        "Photo no. 3 is at Teal Pool.",
        "Pics 1 and 2 Teal Pool, the last Rushy Fleet.",
        "The last one is at Teal Pool.",
        "The first two are from Teal Pool.",
        "The second is from Teal Pool.",
        "The other photos were taken at Teal Pool.",
        "IMG_2041 was seen at Teal Pool.",
        "Das zweite Foto ist vom Kranichmoor.",
        "Bild 2 war am Kranichmoor.",
        "Ostatnie zdjęcie jest znad Stawu Olchowego.",
        "La deuxième photo est de la Mare du Héron.",
    ],
)
def test_a_place_of_some_of_the_photos_is_an_offer(text: str):
    assert places(text) == set()


@pytest.mark.parametrize(
    "text",
    [
        "Photo 20 July, Teal Pool.",
        "Seen at Teal Pool, the first one this year.",
        "The first dragonfly of the season, seen at Teal Pool on Sunday.",
        "Two photos from Teal Pool.",
    ],
)
def test_days_and_first_animals_are_no_numbers_of_photos(text: str):
    assert places(text) == {"Teal Pool"}
