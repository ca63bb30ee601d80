"""What stands beside a name is taken out and noted: doubts, sexes, open endings, hybrids."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.checklist.marks import (
    Marks,
    denies,
    read_qualifier,
    take_doubts,
    take_hybrid,
    take_sexes,
)


def words(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize(
    ("text", "left", "doubts"),
    [
        ("Aeshna mixta", "Aeshna mixta", []),
        ("Aeshna cf. mixta", "Aeshna mixta", ["cf."]),
        ("Aeshna c.f. mixta", "Aeshna mixta", ["cf."]),
        ("Aeshna conf. mixta", "Aeshna mixta", ["cf."]),
        ("Aeshna aff mixta", "Aeshna mixta", ["aff."]),
        ("Aeshna nr. mixta", "Aeshna mixta", ["nr."]),
        ("Aeshna mixta agg.", "Aeshna mixta", ["agg."]),
        ("Aeshna mixta-Gruppe", "Aeshna mixta", ["agg."]),
        ("Aeshna mixta s.l.", "Aeshna mixta", ["s.l."]),
        ("Aeshna mixta sensu lato", "Aeshna mixta", ["s.l."]),
        ("Aeshna mixta?", "Aeshna mixta", ["?"]),
        ("Aeshna mixta (?)", "Aeshna mixta", ["?"]),
        ("probably Aeshna mixta", "Aeshna mixta", ["?"]),
        ("vermutlich Aeshna mixta??", "Aeshna mixta", ["?"]),
        ("chyba Aeshna cf. mixta", "Aeshna mixta", ["cf.", "?"]),
        ("peut-être Aeshna mixta", "Aeshna mixta", ["?"]),
        ("Aeshna (cf. mixta)", "Aeshna mixta", ["cf."]),
        ("Aeshna (Hesperaeschna) mixta", "Aeshna (Hesperaeschna) mixta", []),
        ("Aeshna mixta s.str.", "Aeshna mixta", []),
        ("Affinis mixta", "Affinis mixta", []),  # no mark within a word
        ("Confidens grouperi", "Confidens grouperi", []),
    ],
)
def test_a_doubt_is_noted_in_one_spelling_and_taken_out(text, left, doubts):
    marks = Marks()
    assert words(take_doubts(text, marks)) == left
    assert marks.doubts == doubts
    assert not marks.left_open


@pytest.mark.parametrize(
    "text",
    ["Aeshna sp.", "Aeshna spp", "Aeshna species", "Aeshna indet.", "Aeshna unbestimmt"],
)
def test_an_open_ending_is_noted(text: str):
    marks = Marks()
    assert words(take_doubts(text, marks)) == "Aeshna"
    assert (marks.left_open, marks.doubts) == (True, [])


@pytest.mark.parametrize(
    ("text", "left", "sexes"),
    [
        ("Aeshna mixta ♂", "Aeshna mixta", {"male"}),
        ("Aeshna mixta ♀\ufe0f", "Aeshna mixta", {"female"}),
        ("Aeshna mixta (♂♀)", "Aeshna mixta", {"male", "female"}),
        ("Aeshna mixta male and female", "Aeshna mixta", {"male", "female"}),
        ("Aeshna mixta, Weibchen", "Aeshna mixta,", {"female"}),
        ("Aeshna mixta samiec i samica", "Aeshna mixta", {"male", "female"}),
        ("Aeshna mixta", "Aeshna mixta", set()),
        ("Aeshna femalei", "Aeshna femalei", set()),
    ],
)
def test_signs_and_words_of_sex_are_noted_and_taken_out(text, left, sexes):
    marks = Marks()
    assert words(take_sexes(text, marks)) == left
    assert marks.sexes == sexes


def test_a_hybrid_is_noted_once_and_for_all():
    marks = Marks()
    assert words(take_hybrid("hybrid Aeshna mixta", marks)) == "Aeshna mixta"
    assert marks.hybrid
    take_hybrid("Aeshna mixta", marks)
    assert marks.hybrid
    assert take_hybrid("Hybridella mixta", Marks()) == "Hybridella mixta"


@pytest.mark.parametrize(
    ("text", "denied"),
    [
        ("not Aeshna mixta", True),
        ("kein Männchen", True),
        ("nie ważka", True),
        ("pas Aeshna mixta", True),
        ("Aeshna mixta", False),
        ("Notonecta glauca", False),
        ("Nieuport", False),
    ],
)
def test_a_denial_is_a_word_of_its_own(text: str, denied: bool):
    assert denies(text) == denied


@pytest.mark.parametrize(
    ("typed", "read"),
    [
        ("", ""),
        ("cf", "cf."),
        ("(cf.)", "cf."),
        ("AFF.", "aff."),
        ("cf. ?", "cf. ?"),
        ("? probably", "?"),
        ("sp.", ""),
        ("see remarks", "see remarks"),
        (" cf. mixta ", "cf. mixta"),
    ],
)
def test_a_qualifier_of_its_own_column_has_one_spelling(typed: str, read: str):
    assert read_qualifier(typed) == read


@given(st.text(max_size=40))
def test_a_qualifier_read_again_stays_as_it_is(text: str):
    once = read_qualifier(text)
    assert read_qualifier(once) == once
