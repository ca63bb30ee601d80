"""What typed letters may mean: beginnings of words, run together, without accents or case."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from records_made import begun_by

from triage.checklist import Checklist, Taxon
from triage.checklist.typed import fits, plain

LISTED = Checklist(
    [
        Taxon(
            scientific_name="Anax imperator",
            rank="species",
            family="Aeshnidae",
            synonyms=("Anax formosus",),
            vernacular_name="Blue Emperor|Husarz władca|Große Königslibelle",
        ),
        Taxon(scientific_name="Aeshna mixta", rank="species", family="Aeshnidae"),
        Taxon(
            scientific_name="Sympetrum sanguineum",
            rank="species",
            vernacular_name="Szablak krwisty",
        ),
    ]
)


@pytest.mark.parametrize(
    ("typed", "names"),
    [
        ("anim", {"Anax imperator"}),
        ("an imp", {"Anax imperator"}),
        ("impe", {"Anax imperator"}),
        ("anfo", {"Anax imperator"}),  # the synonym
        ("BLUE", {"Anax imperator"}),
        ("große kö", {"Anax imperator"}),
        ("konigs", {"Anax imperator"}),  # as a hand without umlauts types it
        ("aesh", {"Aeshna mixta", "Aeshna", "Aeshnidae"}),
        ("aemi", {"Aeshna mixta"}),
        ("szkr", {"Sympetrum sanguineum"}),
        ("imp an", set()),
        ("nax", set()),
        ("   ", set()),
        ("-", set()),
    ],
)
def test_letters_mean_the_names_that_they_begin(typed: str, names: set[str]):
    assert begun_by(LISTED, typed) == names


@given(st.text(max_size=40))
def test_plain_letters_are_plain_already(text: str):
    assert plain(plain(text)) == plain(text)


@given(st.data())
def test_any_beginning_of_any_word_and_of_two_run_together_fits(data: st.DataObject):
    words = data.draw(st.lists(st.text("abcdef", min_size=1, max_size=8), min_size=1, max_size=4))
    word = data.draw(st.sampled_from(words))
    assert fits([word[: data.draw(st.integers(1, len(word)))]], words)
    if len(words) > 1:
        first, second = (data.draw(st.integers(1, len(one))) for one in words[:2])
        assert fits([words[0][:first] + words[1][:second]], words)


@given(st.lists(st.text("ab", min_size=1, max_size=3), min_size=1, max_size=3))
def test_a_suggestion_is_among_what_the_letters_mean(parts: list[str]):
    typed = " ".join(parts)
    meant = begun_by(LISTED, typed)
    suggested = [taxon.scientific_name for taxon in LISTED.suggest(typed, limit=99)]
    assert set(suggested[: len(meant)]) == meant  # what is merely spelt alike comes after
