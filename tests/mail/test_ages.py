"""A child who signs with an age is noticed; a room, a house, a day or a picture is no age."""

from __future__ import annotations

import pytest

from triage.mail.ages import childs_signature, signed_with_an_age
from triage.mail.authorship import divide_text
from triage.mail.consent import read_consent, speaks_of_children

CHILDREN = (
    "Esme 12 | esme, 12 | Theo, 10 | Theo (10) | Theo, 4 | Paul 15 | Inès, 16 ans | Zosia, 11 lat"
    " | Jonas (9 Jahre) | Bojana, 9 Jahre alt | Ben Lind (9 years) | Esme, aged 12 | Esme, age 12"
    " | Esme Reed, 12 | Esme Reed (12) | Anna-Lena 9 | LG Theo 10 | Liebe Grüße, Theo, 10"
    " | Love from Esme 12 | von Theo, 10 | - Esme, 12 | *Esme 12* | Esme 12! | Esme 12 :)"
    " | Theo 10, Mia 8 | Theo 10 & Mia 8 | Theo und Mia (8) | Emma (7) und Paul (9) | Noah aged 11"
    " | Hugo, 10 ans et demi | Franek lat 9 | Ola, 12 l. | Zosia i Antek (7)"
)
NO_CHILDREN = (
    "Room 12 | Photo 5 | Photo 3 | Page 12 | Pond 7 | Class 4 | Nr. 12 | Haus 12 | Writer 10 | 12"
    " | Mill Lane 12 | Lindenweg 12 | Dorfstraße 7 | Martin Street 12 | Martin Street, 12"
    " | Rue Martin, 12 | Maria-Theresien-Straße 12 | Anna Haus 5 | St. Martin 12 | Heron Mere 12"
    " | June 10 | 10 June | May 12 | Jan 10 | August 9 | Esme 12.7. | Theo 10:30 | Theo 10 Uhr"
    " | Esme | Esme 3 | Esme 16 | Esme, 46 | Esme 2012 | Paul 100 | Barnabé Lescure, 74 ans"
    " | Esme and I saw 12 | Esme 5 km | Max 12 °C | Theo 10 & a friend | iPhone 12 | Tom 10/12"
    " | Oskar 10 % | Anna 10a | Ida 5 of 6 | Emma, 15.7. | Emma 10 photos | Ruby Meadow 9 | Lina #4"
)


@pytest.mark.parametrize("line", CHILDREN.split(" | "))
@pytest.mark.parametrize("above", ["", "Liebe Grüße\n", "-- \n", "Large red?\n\n"])
def test_an_age_behind_a_first_name_at_the_end_of_a_mail_is_a_childs(line: str, above: str):
    assert signed_with_an_age(line)
    kept = divide_text(f"It sat on my thumb.\n\n{above}{line}")[0].text
    assert speaks_of_children(kept)


@pytest.mark.parametrize("line", NO_CHILDREN.split(" | "))
def test_other_numbers_at_the_end_of_a_mail_are_no_age(line: str):
    assert not signed_with_an_age(line)
    assert not speaks_of_children(f"It sat on my thumb.\n\nLiebe Grüße\n{line}")


@pytest.mark.parametrize(
    ("text", "signature"),
    [
        ("It wouldn't go. Large red? Esme 12", "Esme 12"),
        ("Look!\n\nEsme 12\nAlder Pool\nPS: it flew off", "Esme 12"),
        ("Esme 12\n\nIt sat on my thumb.\nThen it flew.\nThen it was gone.", ""),
        ("We met at St. Martin 12", ""),
        ("", ""),
    ],
)
def test_only_the_end_of_a_mail_is_a_signature(text: str, signature: str):
    assert childs_signature(text) == signature


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("J'ai 10 ans et j'aime les libellules.", True),
        ("J\u2019ai 10 ans d'expérience.", False),
        ("Mam 9 lat i lubię ważki.", True),
        ("Mam 10 lat doświadczenia.", False),
        ("Ich bin 9 Jahre alt.", True),
        ("Ich bin 49 Jahre alt.", False),
    ],
)
def test_a_child_who_tells_an_age_is_noticed(text: str, expected: bool):
    assert speaks_of_children(text) is expected


def test_a_grant_that_a_child_signs_grants_nothing_and_is_kept():
    consent = read_consent("You may publish my photos under CC BY 4.0.\n\nEsme 12")
    assert (consent.publish, consent.licence) == ("unstated", "")
    assert "Esme 12" in consent.wording
    assert read_consent("You may publish my photos.\n\nRoom 12").publish == "yes"
