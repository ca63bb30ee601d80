"""Words that put an earlier mail right, in seven batches by seven hands (tests/data/mails).

Of the first hand's first twenty, written before the rules, all were heard and none in vain; of
fourteen and twelve written after them none was heard at the first reading and two in vain. Of the
second hand, which knew nothing of the rules, none of 10 was heard and none of 10 in vain; of the
five others, which knew nothing either, 15 of 30, 10 of 30, 12 of 30, 9 of 35 and 6 of 35, and 5,
3, 6, 4 and 4 in vain of as many that were made to mislead. They are heard beside an earlier mail
of the sender's; without one only known forms count.
"""

from __future__ import annotations

import pytest
from mails_written import heard_of_all, plain_shown

from triage.metadata.corrections import corrects_in_a_known_form, words_of_a_correction

pytestmark = pytest.mark.xdist_group("sentences of volunteers")


def test_words_that_may_correct_an_earlier_mail_are_found():
    unheard, others = heard_of_all(words_of_a_correction, "correcting")
    assert len(unheard) <= 70, unheard
    assert len(others) <= 37, others


def test_few_plain_mails_are_like_a_correction():
    first, later = plain_shown(words_of_a_correction, "correcting")
    assert first <= 8
    assert later <= 24


@pytest.mark.parametrize(
    ("sentence", "known"),
    [
        ("Correction: the pictures of yesterday were taken on the 18th.", True),
        ("Die Fotos von Montag waren doch vom Otterteich.", True),
        ("Nobody had told me the pond has a name of its own.", False),
    ],
)
def test_only_known_forms_correct_what_is_not_known(sentence: str, known: bool):
    assert corrects_in_a_known_form(sentence) is known


@pytest.mark.parametrize(
    "sentence",
    [
        "I am not sure that my last mail arrived, so here it is again.",
        "Did my last mail reach you?",
        "Ich bin nicht sicher, ob meine letzte Mail angekommen ist.",
        "Nie wiem, czy mój ostatni mail dotarł.",
        "Je ne sais pas si mon dernier message est bien arrivé.",
    ],
)
def test_whether_a_mail_came_corrects_nothing(sentence: str):
    assert words_of_a_correction(sentence) == ""


@pytest.mark.parametrize(
    "text",
    [
        "My last mail arrived with the wrong place in it.",
        "Did you get my mail? The photos in it were from Otter Reach, not the mere.",
    ],
)
def test_a_mail_that_came_may_be_corrected_all_the_same(text: str):
    assert words_of_a_correction(text)
