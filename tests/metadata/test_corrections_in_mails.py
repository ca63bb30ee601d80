"""Words that put an earlier mail right, in two batches of mails (tests/data/mails) by two hands.

Of the first hand's first twenty, written before the rules, all were heard and none in vain; of
fourteen and twelve written after them none was heard at the first reading and two in vain. Of the
second hand, which knew nothing of the rules, none of 10 was heard and none of 10 in vain.
"""

from __future__ import annotations

from mails_written import heard, plain_shown

from triage.metadata.corrections import words_of_a_correction


def test_words_that_may_correct_an_earlier_mail_are_found():
    missed, in_vain = heard(words_of_a_correction, "correcting", 1)
    assert (missed, in_vain) == ([], [])
    missed, in_vain = heard(words_of_a_correction, "correcting", 2)
    assert (len(missed) <= 4, len(in_vain) <= 1) == (True, True), (missed, in_vain)


def test_plain_mails_correct_nothing():
    assert len(plain_shown(words_of_a_correction)) <= 5
