"""A wish to have something deleted is heard in four languages; talk of insects is none.

Two batches of mails by two hands (tests/data/mails): of the second, which knew nothing of the
rules, 6 of 10 were not heard at the first reading and one of 10 in vain.
"""

import pytest
from mails_written import heard, plain_shown

from triage.mail.wishes import asks_to_delete


def test_wishes_to_be_deleted_are_heard_and_others_are_none():
    assert heard(asks_to_delete, "delete", 1) == ([], [])
    missed, in_vain = heard(asks_to_delete, "delete", 2)
    assert (len(missed) <= 2, in_vain) == (True, []), (missed, in_vain)
    assert len(plain_shown(asks_to_delete)) <= 1


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
