"""A wish to have something deleted is heard in four languages; talk of insects is none."""

import pytest

from triage.mail.wishes import asks_to_delete


@pytest.mark.parametrize(
    "text",
    [
        "Please delete my photos.",
        "Could you remove the picture I sent last week?",
        "Please take my photos down again.",
        "I want my data erased.",
        "I withdraw my photos.",
        "Please forget me.",
        "I no longer want my pictures on your page.",
        "Bitte löschen Sie meine Fotos.",
        "Bitte entfernen Sie das Bild von gestern.",
        "Ich ziehe meine Fotos zurück.",
        "Meine Daten sollen gelöscht werden.",
        "Proszę usunąć moje zdjęcia.",
        "Proszę o usunięcie moich danych.",
        "Wycofuję zdjęcia.",
        "Merci de supprimer mes photos.",
        "Je retire mes photos.",
    ],
)
def test_a_wish_to_be_deleted_is_heard_with_its_sentence(text):
    assert asks_to_delete(f"Hello.\n{text}\nBest wishes, Ida") == text


@pytest.mark.parametrize(
    "text",
    [
        "It took off at once.",
        "Seen at Heron Mere, resting on a reed.",
        "Zwei Fotos vom Heron Mere.",
        "Nie wiem, co to jest.",
        "Une libellule au bord du lac.",
        "",
    ],
)
def test_other_words_are_no_such_wish(text):
    assert asks_to_delete(text) == ""
