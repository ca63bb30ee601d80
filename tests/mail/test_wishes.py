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
        "I sent you the picture by mistake, please delete it.",
        "You received my mail twice by mistake, please delete one.",
        "My wife wants the photo taken down.",
        "Bitte löschen Sie meine letzte Mail, sie war nicht für Sie.",
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
        # told, not asked
        "I removed my shoes and waded in, and there it was.",
        "We had to take the dog back home, and then saw it.",
        "I took it up in my retirement, the picture shows why.",
        "Ich habe das Datum aus dem Bild entfernt.",
        "Es war 20 m entfernt, das Bild ist nicht scharf.",
        "Usunęłam tło ze zdjęcia.",
        "J'ai enlevé le fond de la photo.",
        # what mail programs of firms write below every mail
        "Ida\n-----\nThis message is meant for the addressee only. If you have received it by"
        " mistake please delete it.",
        "If you have received this e-mail in error, please delete it.",
        "Falls Sie diese Nachricht irrtümlich erhalten haben, löschen Sie sie bitte.",
        "Jeżeli otrzymali Państwo tę wiadomość przez pomyłkę, prosimy o jej usunięcie.",
        "Si vous avez reçu ce message par erreur, merci de le supprimer.",
    ],
)
def test_other_words_are_no_such_wish(text):
    assert asks_to_delete(text) == ""
