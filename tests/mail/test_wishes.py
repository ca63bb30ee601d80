"""A wish to have something deleted is heard in four languages; talk of insects is none.

Seven batches of mails by seven hands (tests/data/mails): of the second, which knew nothing of the
rules, 6 of 10 were not heard at the first reading and one of 10 in vain; of the five others,
which knew nothing either, 13 of 30, 16 of 30, 11 of 30, 17 of 35 and 28 of 35, and 5, 3, 3, 4 and
2 in vain of as many that were made to mislead.
"""

import pytest
from mails_written import heard_of_all, plain_shown

from triage.mail.wishes import asks_to_delete

pytestmark = pytest.mark.xdist_group("sentences of volunteers")


def test_wishes_to_be_deleted_are_heard():
    unheard, others = heard_of_all(asks_to_delete, "delete")
    assert len(unheard) <= 57, unheard
    assert len(others) <= 19, others


def test_few_plain_mails_seem_to_ask_for_it():
    first, later = plain_shown(asks_to_delete, "delete")
    assert first <= 1
    assert later <= 4


def test_the_sentence_that_asks_is_shown():
    text = "Hello.\nCould you remove the picture I sent last week?\nBest wishes, Ida"
    assert asks_to_delete(text) == "Could you remove the picture I sent last week?"


@pytest.mark.parametrize(
    "text",
    [
        # told, not asked
        "I cropped the picture to remove the finger.",
        "Please don't delete my photos when you have finished.",
        "J'ai un peu rogné et enlevé le bruit de l'image.",
        "Bitte nicht löschen, es sind meine einzigen Bilder.",
        "No letters please.",
        "Bitte keine Rundbriefe.",
        "Proszę bez listów.",
        "Plus de lettres, merci.",
        # not to be shown is not to be deleted
        "Bitte nicht veröffentlichen, wo genau.",
        "I would rather you did not publish my photos.",
        # sent, not asked
        "Two more that were sent to me.",
        "Sent once more from my phone, it made the picture smaller by itself.",
        # what mail programs of firms write below every mail
        "Ida\n-----\nThis message is meant for the addressee only. If you have received it by"
        " mistake please delete it.",
        "",
    ],
)
def test_other_words_are_no_such_wish(text):
    assert asks_to_delete(text) == ""
