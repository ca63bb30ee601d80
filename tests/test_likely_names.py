"""Names are offered by season and place, and in a blind list by kind and letters only."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from triage.checklist import Checklist, Taxon, by_season_and_place, in_checklist_order


def species(name: str, first: int, last: int) -> Taxon:
    return Taxon(scientific_name=name, rank="species", family="Aeshnidae", season=(first, last))


JUNE, LATE = species("Aeshna prima", 150, 200), species("Aeshna sera", 230, 300)
FOUND = species("Aeshna vicina", 150, 200)
CHECKLIST = Checklist([LATE, JUNE, FOUND])


def offered(day: str, near: dict[str, int]) -> list[str]:
    return [one.taxon.scientific_name for one in by_season_and_place(CHECKLIST, day, near)]


def test_what_was_found_nearby_in_its_season_comes_first():
    assert offered("2026-06-20", {"Aeshna vicina": 3})[:2] == ["Aeshna vicina", "Aeshna prima"]


def test_what_is_out_of_season_comes_after_its_equals_even_if_it_was_found_nearby():
    names = offered("2026-06-20", {"Aeshna sera": 50})
    assert names.index("Aeshna sera") == 2
    assert names.index("Aeshna sera") < names.index("Aeshna")  # a genus never before its species


def test_species_come_before_the_names_that_hold_them():
    names = offered("2026-06-20", {})
    assert names.index("Aeshna prima") < names.index("Aeshna") < names.index("Aeshnidae")


def test_without_a_date_no_name_is_out_of_season():
    assert all(one.in_season is None for one in by_season_and_place(CHECKLIST, "", {}))


@settings(deadline=None)
@given(
    st.dictionaries(
        st.sampled_from([t.scientific_name for t in CHECKLIST.names()]), st.integers(0, 99)
    )
)
def test_no_name_is_left_out_or_offered_twice(near: dict[str, int]):
    every = sorted(t.scientific_name for t in CHECKLIST.names())
    assert sorted(offered("2026-06-20", near)) == every
    assert sorted(one.taxon.scientific_name for one in in_checklist_order(CHECKLIST)) == every


def test_the_blind_list_says_nothing_of_season_or_place():
    names = [one.taxon.scientific_name for one in in_checklist_order(CHECKLIST)]
    assert names[:3] == ["Aeshna prima", "Aeshna sera", "Aeshna vicina"]
