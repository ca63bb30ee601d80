"""Who took a photo, how many animals, a child: what the coordinator must see, and what not.

Four batches (tests/data/mails), each read once before the rules were mended by it: of
the first, 16 of 21 photographers and 9 of 12 several animals were not heard, of the second 15 of 21
and 7 of 12, of the third 12 of 15, 5 of 10 and 5 of 5 children; of the fourth, whole mails by a
hand that knew nothing of the rules, 4 of 9 several animals and 2 of 5 of others or children.
Likeness is learned from these batches: each is read by weights that had not seen it.
"""

from __future__ import annotations

from typing import TypedDict

from mails_written import mails

from triage.mail.authorship import divide_text
from triage.mail.consent import read_consent, speaks_of_children
from triage.mail.photographers import another_took_it
from triage.sightings.words import words_of_several


class Relayed(TypedDict):
    """What the words tell: another photographer, several animals, a child."""

    text: str
    another: bool
    several: bool
    child: bool


RELAYED = mails("relayed")


def test_hardly_one_is_heard_where_none_is_told_of():
    others = [mail["text"] for fold, mail in RELAYED if not mail["another"] and other(mail, fold)]
    several = [mail["text"] for fold, mail in RELAYED if not mail["several"] and many(mail, fold)]
    children = [m["text"] for _, m in RELAYED if not m["child"] and speaks_of_children(m["text"])]
    assert (len(others), len(several), len(children)) == (0, 1, 0), (others, several, children)


def other(mail: Relayed, fold: int) -> bool:
    return bool(another_took_it(mail["text"], without=fold)[0])


def many(mail: Relayed, fold: int) -> bool:
    return bool(words_of_several(mail["text"], without=fold))


def test_of_those_that_are_told_of_most_are_heard():
    others = [one for one in RELAYED if one[1]["another"]]
    several = [one for one in RELAYED if one[1]["several"]]
    children = [one for one in RELAYED if one[1]["child"]]
    unheard = [m["text"] for fold, m in others if not other(m, fold)]
    as_one = [m["text"] for fold, m in several if not many(m, fold)]
    grown = [m["text"] for _, m in children if not speaks_of_children(m["text"])]
    assert (len(others), len(several), len(children)) == (60, 43, 19)
    assert (len(unheard), len(as_one), len(grown)) == (3, 3, 0), (unheard, as_one, grown)


def test_of_plain_mails_hardly_one_is_asked_for_these():
    plain = [(fold, divide_text(m["text"])[0].text) for fold, m in mails("plain")]
    places = ("Teal Pool", "Rushy Fleet", "Alder Carr", "Schilfteich", "Kranichmoor")
    asked = [text for f, text in plain if another_took_it(text, places=places, without=f)[0]]
    of_several = [text for fold, text in plain if words_of_several(text, without=fold)]
    assert len(plain) == 1180
    assert len(asked) <= 7, asked
    assert len(of_several) <= 14, of_several
    assert sum(bool(read_consent(text).wording) for _, text in plain) <= 2
