"""What the lots of a site say together, by hand-counted cases and by laws."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

from hypothesis import given
from hypothesis import strategies as st
from records_made import lot

from triage.exuviae import TaxonFound, taxa_found


def test_counts_of_a_taxon_add_up_over_its_lots_and_years():
    lots = [
        lot("EX-1", "Aeshna mixta", 2),
        lot("EX-1", "Aeshna mixta", 3, "2025-07-01"),
        lot("EX-1", "Aeshna mixta", 1),
    ]
    (found,) = taxa_found(lots)
    assert found == TaxonFound(scientific_name="Aeshna mixta", count=6, years=(2025, 2026))


def test_a_taxon_that_was_looked_for_and_not_found_is_no_find():
    assert taxa_found([lot("EX-1", "Aeshna mixta", 0)]) == ()
    assert taxa_found([]) == ()


def test_a_name_in_doubt_stands_apart_with_its_doubt():
    sure = lot("EX-1", "Aeshna mixta", 2)
    doubted = replace(lot("EX-1", "Aeshna mixta", 3), identification_qualifier="cf.")
    found = taxa_found([sure, doubted])
    assert [(one.written, one.count) for one in found] == [
        ("Aeshna cf. mixta", 3),
        ("Aeshna mixta", 2),
    ]


def test_a_lot_without_a_day_counts_and_has_no_year():
    assert taxa_found([lot("EX-1", "Aeshna mixta", 4, "")])[0].years == ()


LOTS = st.lists(
    st.builds(
        partial(lot, "EX-1"),
        st.sampled_from(["Aeshna mixta", "Anax imperator", "Lestes sponsa"]),
        st.integers(0, 9),
        st.sampled_from(["2024-06-01", "2025-06-01", ""]),
    ),
    max_size=12,
)


@given(LOTS, st.randoms())
def test_no_skin_is_lost_the_most_come_first_and_the_order_of_the_lots_is_nothing(lots, random):
    found = taxa_found(lots)
    assert sum(one.count for one in found) == sum(one.individual_count for one in lots)
    places = [(-one.count, one.scientific_name) for one in found]
    assert places == sorted(places)
    shuffled = random.sample(lots, len(lots))
    assert taxa_found(shuffled) == found
