"""A wish to have something deleted is heard in four languages; talk of insects is none.

Seven batches of mails by seven hands (tests/data/mails): of the second, which knew nothing of the
rules, 6 of 10 were not heard at the first reading and one of 10 in vain; of the five others,
which knew nothing either, 13 of 30, 16 of 30, 11 of 30, 17 of 35 and 28 of 35, and 5, 3, 3, 4 and
2 in vain of as many that were made to mislead.
"""

import pytest
from mails_written import heard, plain_shown

from triage.mail.wishes import asks_to_delete


@pytest.mark.parametrize(
    ("batch", "missed", "in_vain"),
    [(1, 0, 0), (2, 1, 0), (3, 11, 5), (4, 13, 4), (5, 8, 3), (6, 13, 4), (7, 20, 3)],
)
def test_wishes_to_be_deleted_are_heard(batch: int, missed: int, in_vain: int):
    unheard, others = heard(asks_to_delete, "delete", batch)
    assert len(unheard) <= missed, unheard
    assert len(others) <= in_vain, others


def test_few_plain_mails_seem_to_ask_for_it():
    first, later = plain_shown(asks_to_delete, "delete")
    assert first <= 3
    assert later <= 14


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
