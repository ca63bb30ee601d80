"""What the lots of a site say together, by hand-counted cases and by laws."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from triage.exuviae import ExuviaeLot, TaxonFound, taxa_found


def lot(name: str, count: int, day: str = "2026-06-13") -> ExuviaeLot:
    return ExuviaeLot(
        catalog_number="EX-1",
        event_id="V1",
        location_id="LNT-01",
        first_day=day,
        last_day=day,
        scientific_name=name,
        taxon_rank="species",
        individual_count=count,
    )


def test_counts_of_a_taxon_add_up_over_its_lots_and_years():
    lots = [lot("Aeshna mixta", 2), lot("Aeshna mixta", 3, "2025-07-01"), lot("Aeshna mixta", 1)]
    (found,) = taxa_found(lots)
    assert found == TaxonFound(scientific_name="Aeshna mixta", count=6, years=(2025, 2026))


def test_a_taxon_that_was_looked_for_and_not_found_is_no_find():
    assert taxa_found([lot("Aeshna mixta", 0)]) == ()
    assert taxa_found([]) == ()


def test_a_lot_without_a_day_counts_and_has_no_year():
    assert taxa_found([lot("Aeshna mixta", 4, "")])[0].years == ()


LOTS = st.lists(
    st.builds(
        lot,
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
