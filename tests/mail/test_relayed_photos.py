"""Who took a photo, how many animals, a child: what the coordinator must see, and what not.

Nine batches (tests/data/mails), each read once before the rules were mended by it: of the first, 16
of 21 photographers and 9 of 12 several animals were not heard, of the second 15 of 21 and 7 of 12,
of the third 12 of 15, 5 of 10 and 5 of 5 children; of the fourth, whole mails by a hand that knew
nothing of the rules, 4 of 9 several animals and 2 of 5 of others or children; of the five others,
by five such hands, 13 of 47 others or children, and 14 of 27, 17 of 27, 13 of 27, 17 of 32 and 25
of 31 several animals. Likeness is learned from these batches: each is read by weights that had not
seen its hand.
"""

from __future__ import annotations

from typing import TypedDict

import pytest
from mails_written import mails, tells_no

from triage.mail.authorship import divide_text
from triage.mail.consent import speaks_of_children
from triage.mail.photographers import another_took_it
from triage.sightings.words import words_of_several

pytestmark = pytest.mark.xdist_group("sentences of volunteers")


class Relayed(TypedDict):
    """What the words tell: another photographer, several animals, a child."""

    text: str
    another: bool
    several: bool
    child: bool


FIRST = [one for number in range(1, 5) for one in mails("relayed", str(number))]
LATER = [one for number in (6, 7, 9, 10, 11) for one in mails("relayed", str(number))]


@pytest.mark.parametrize(
    ("batches", "others", "several", "children"), [(FIRST, 1, 2, 0), (LATER, 6, 56, 14)]
)
def test_not_many_are_heard_where_none_is_told_of(
    batches: list[tuple[int, Relayed]], others: int, several: int, children: int
):
    """Those of the later hands were made to mislead: "my nephew", "the second of August"."""
    of_others = [m["text"] for fold, m in batches if not m["another"] and other(m, fold)]
    of_several = [m["text"] for fold, m in batches if not m["several"] and many(m, fold)]
    of_children = [m["text"] for _, m in batches if not m["child"] and child(m)]
    assert len(of_others) <= others, of_others
    assert len(of_several) <= several, of_several
    assert len(of_children) <= children, of_children


def other(mail: Relayed, fold: int) -> bool:
    return bool(another_took_it(mail["text"], without=fold)[0])


def many(mail: Relayed, fold: int) -> bool:
    return bool(words_of_several(mail["text"], without=fold))


def child(mail: Relayed) -> bool:
    return speaks_of_children(mail["text"])


@pytest.mark.parametrize(
    ("batches", "others", "several", "children"),
    [(FIRST, (60, 4), (43, 2), (19, 0)), (LATER, (47, 11), (144, 51), (13, 4))],
)
def test_of_those_that_are_told_of_most_are_heard(
    batches: list[tuple[int, Relayed]],
    others: tuple[int, int],
    several: tuple[int, int],
    children: tuple[int, int],
):
    """Of each how many mails tell of it, and how many of these may be missed."""
    of_others = [one for one in batches if one[1]["another"]]
    of_several = [one for one in batches if one[1]["several"]]
    of_children = [m for _, m in batches if m["child"]]
    counted = (len(of_others), len(of_several), len(of_children))
    assert counted == (others[0], several[0], children[0])
    unheard = [m["text"] for fold, m in of_others if not other(m, fold)]
    as_one = [m["text"] for fold, m in of_several if not many(m, fold)]
    grown = [m["text"] for m in of_children if not child(m)]
    assert len(unheard) <= others[1], unheard
    assert len(as_one) <= several[1], as_one
    assert len(grown) <= children[1], grown


@pytest.mark.parametrize(("batch", "others", "several"), [("plain", 2, 49), ("mention", 30, 78)])
def test_of_plain_mails_few_are_asked_for_these(batch: str, others: int, several: int):
    """Of several animals only those are asked that bring more than one photo."""
    plain = [(fold, divide_text(m["text"])[0].text, m) for fold, m in mails(batch)]
    places = ("Teal Pool", "Rushy Fleet", "Alder Carr", "Schilfteich", "Kranichmoor")
    asked = [
        text
        for fold, text, m in plain
        if tells_no(m, "another") and another_took_it(text, places=places, without=fold)[0]
    ]
    of_several = [
        text
        for fold, text, m in plain
        if tells_no(m, "several") and words_of_several(text, without=fold)
    ]
    assert len(plain) > 1_100
    assert len(asked) <= others, asked
    assert len(of_several) <= several, of_several
