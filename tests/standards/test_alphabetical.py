"""Letters as they are compared, and the order of names in lists."""

from __future__ import annotations

import random
import unicodedata

import pytest

from triage.standards.letters import alphabetical, bare

# As the index of a book for all countries has them; numbers first, by their size.
IN_ORDER = [
    "2nd Lock",
    "10 Acre Pond",
    "Ängelsee",
    "Apple Mere",
    "Étang du Moulin",
    "Łysa Tarn",
    "Mistle Moss",
    "Old Brickpit",
    "Øre Pond",
    "Šárka Mere",
    "Sedgeholm Pond",
    "Świetlik Pool",
    "Żabie Oczko",
    "Zander Pit",
]


def test_names_stand_with_their_plain_letters_whatever_their_marks():
    mixed = IN_ORDER.copy()
    random.Random(3).shuffle(mixed)
    assert sorted(mixed, key=alphabetical) == IN_ORDER


@pytest.mark.parametrize("form", ["NFC", "NFD"])
def test_the_order_does_not_depend_on_how_a_program_composed_the_letters(form):
    composed = [unicodedata.normalize(form, name) for name in IN_ORDER]
    assert sorted(reversed(composed), key=alphabetical) == composed


def test_names_that_differ_in_marks_alone_keep_one_order():
    assert sorted(["Żaba", "zaba", "Zaba"], key=alphabetical) == ["Zaba", "zaba", "Żaba"]


@pytest.mark.parametrize(
    ("given", "expected"),
    # The letters of Latin alphabets of Europe that Unicode does not decompose
    # (UnicodeData.txt, field 5 is empty for them).
    [("Øø", "oo"), ("Łł", "ll"), ("Đđ", "dd"), ("ẞß", "ssss"), ("ÆŒ", "aeoe"), ("Ǿ", "o")],
)
def test_letters_that_unicode_keeps_whole_are_bared_too(given, expected):
    assert bare(given) == expected
