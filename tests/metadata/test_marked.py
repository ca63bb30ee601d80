"""The very words from which a date and a place were read are marked, and no letter is lost."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from triage.metadata.marked import mark_words


def marked(text: str, times: list[str], places: list[str]) -> list[tuple[str, str]]:
    return [(piece.text, piece.mark) for piece in mark_words(text, times, places) if piece.mark]


T, P = "time", "place"
CASES = [
    ("Today at Alder Pool.", ["Today"], ["Alder Pool"], [("Today", T), ("Alder Pool", P)]),
    ("on 19\n July we", ["19 July"], [], [("19\n July", T)]),
    ("19 July, sun, at 10:20", ["19 July, at 10:20"], [], [("19 July", T), ("at 10:20", T)]),
    ("HERON MERE", [], ["Heron Mere"], [("HERON MERE", P)]),
    ("Heron Meres", [], ["Heron Mere"], []),
    ("3 July Pond", ["3 July"], ["3 July Pond"], [("3 July", "time and place"), (" Pond", P)]),
    ("a.b* (c", ["b* (c"], [], [("b* (c", T)]),
    ("anything", [""], [" "], []),
    ("", ["a"], ["b"], []),
]


@pytest.mark.parametrize(("text", "times", "places", "found"), CASES)
def test_the_words_of_a_claim_are_marked(text, times, places, found):
    assert marked(text, times, places) == found


words = st.text(alphabet="ab .,*(\n", max_size=40)


@settings(deadline=None)
@given(words, st.lists(words, max_size=3), st.lists(words, max_size=3))
def test_the_pieces_joined_are_the_text(text: str, times: list[str], places: list[str]):
    pieces = mark_words(text, times, places)
    assert "".join(piece.text for piece in pieces) == text
    assert all(piece.text for piece in pieces)
    assert all(a.mark != b.mark for a, b in pairwise(pieces))
