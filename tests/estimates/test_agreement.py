"""Agreement between determiners against published tables.

Fleiss, Levin & Paik 2003 (psychiatric table, book value 0.68 from memory); Fleiss' ten by fourteen
table (widely reproduced, 0.210); Krippendorff 2011 (0.743).
"""

from __future__ import annotations

import math

import krippendorff as reference
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.estimates.agreement import (
    agreement_at,
    cohen_kappa,
    fleiss_kappa,
    krippendorff_alpha,
    raw_agreement,
)
from triage.estimates.interval import wilson

N = None
KRIPPENDORFF = [
    [1, 2, 3, 3, 2, 1, 4, 1, 2, N, N, N],
    [1, 2, 3, 3, 2, 2, 4, 1, 2, 5, N, 3],
    [N, 3, 3, 3, 2, 3, 4, 2, 2, 5, 1, N],
    [1, 2, 3, 3, 2, 4, 4, 1, 2, 5, 1, N],
]
FLEISS = [
    [0, 0, 0, 0, 14], [0, 2, 6, 4, 2], [0, 0, 3, 5, 6], [0, 3, 9, 2, 0], [2, 2, 8, 1, 1],
    [7, 7, 0, 0, 0], [3, 2, 6, 3, 0], [2, 5, 3, 2, 2], [6, 5, 2, 1, 0], [0, 2, 2, 3, 7],
]  # fmt: skip


@pytest.mark.parametrize(
    ("table", "kappa"),
    [
        ([[75, 1, 4], [5, 4, 1], [0, 0, 10]], 0.6765),
        ([[20, 5], [10, 15]], 0.40),
        ([[88, 10, 2], [14, 40, 6], [18, 10, 12]], 0.4915),
    ],
)
def test_cohens_kappa_of_published_tables(table, kappa):
    assert cohen_kappa(table).value == pytest.approx(kappa, abs=5e-5)


def test_cohens_interval_of_the_psychiatric_table():
    found = cohen_kappa([[75, 1, 4], [5, 4, 1], [0, 0, 10]])
    assert (round(found.low, 2), round(found.high, 2)) == (0.50, 0.85)


def test_fleiss_kappa_of_the_published_table():
    assert fleiss_kappa(FLEISS) == pytest.approx(0.209931, abs=5e-7)


def test_krippendorffs_alpha_of_the_published_table():
    assert krippendorff_alpha(KRIPPENDORFF) == pytest.approx(0.7434, abs=5e-5)


@given(
    st.lists(
        st.lists(st.one_of(st.none(), st.integers(1, 4)), min_size=6, max_size=6),
        min_size=2,
        max_size=4,
    )
)
def test_alpha_agrees_with_a_second_library(rows: list[list[int | None]]):
    ours = krippendorff_alpha(rows)
    if math.isnan(ours):
        return
    data = [[np.nan if a is None else a for a in row] for row in rows]
    theirs = reference.alpha(reliability_data=data, level_of_measurement="nominal")
    assert ours == pytest.approx(theirs, abs=1e-9)


def test_names_are_compared_and_unanswered_ones_left_out():
    answers = {
        "A": {"1": "Aeshna mixta", "2": "Aeshna cyanea", "3": "Lestes sponsa"},
        "B": {"1": "Aeshna mixta", "2": "Aeshna mixta", "3": "Lestes sponsa"},
        "C": {"1": "Aeshna mixta"},
    }
    found = agreement_at("species", answers)
    assert found.units == 3
    assert found.raw.value == pytest.approx(4 / 5)
    assert set(found.cohen_kappa) == {("A", "B")}


def test_one_name_only_has_no_kappa_but_raw_agreement():
    answers = {"A": {"1": "x", "2": "x"}, "B": {"1": "x", "2": "x"}}
    found = agreement_at("species", answers)
    assert found.raw.value == 1.0
    assert math.isnan(found.fleiss_kappa)
    assert math.isnan(found.krippendorff_alpha)
    assert math.isnan(found.cohen_kappa[("A", "B")].value)


def test_nobody_answered_is_no_agreement():
    assert math.isnan(agreement_at("genus", {}).raw.value)


def test_cohens_interval_stays_within_its_range_and_is_none_where_all_agree():
    assert cohen_kappa([[9, 1], [0, 2]]).high == 1.0  # above 1 before
    assert math.isnan(cohen_kappa([[3, 0], [0, 4]]).low)
    assert cohen_kappa([[3, 0], [0, 4]]).note == "too few sightings in common"


def test_an_answer_that_is_no_number_was_not_given():
    rows = [[1.0, 2.0, math.nan], [1.0, 2.0, 3.0], [1.0, 1.0, math.nan]]
    without = [[1.0, 2.0, None], [1.0, 2.0, 3.0], [1.0, 1.0, None]]
    assert krippendorff_alpha(rows) == krippendorff_alpha(without)


def test_pairs_of_one_sighting_are_not_counted_as_independent():
    """Five determiners: ten pairs of each of 20 sightings are no 200 draws (coverage was 0.69)."""
    random = np.random.default_rng(4)
    held, naive = 0, 0
    for _ in range(200):
        right = np.where(random.random(20) < 0.6, 0.98, 0.45)
        answers = random.random((20, 5)) < right[:, None]
        units = [["a" if one else "b" for one in row] for row in answers.tolist()]
        truth = 0.6 * (0.98**2 + 0.02**2) + 0.4 * (0.45**2 + 0.55**2)
        found = raw_agreement(units)
        held += found.low <= truth <= found.high
        alone = wilson(round(found.value * 200), 200)
        naive += alone.low <= truth <= alone.high
    assert held >= 180
    assert naive < held


def test_pairs_of_two_determiners_have_about_the_wilson_interval():
    units = [["a", "a"]] * 30 + [["a", "b"]] * 10
    found, plain = raw_agreement(units), wilson(30, 40)
    assert (found.low, found.high) == pytest.approx((plain.low, plain.high), abs=0.005)
    assert raw_agreement([["a", "a"]] * 9).low == pytest.approx(wilson(9, 9).low)


def test_fleiss_says_on_how_many_sightings_it_rests():
    answers = {
        "A": {"1": "x", "2": "y", "3": "x"}, "B": {"1": "x", "2": "x", "3": "y"}, "C": {"1": "y"},
    }  # fmt: skip
    found = agreement_at("species", answers)
    assert (found.units, found.fleiss_units) == (3, 2)


def test_odd_tables_are_refused():
    with pytest.raises(ValueError, match="square"):
        cohen_kappa([[1, 2, 3]])
    with pytest.raises(ValueError, match="same number"):
        fleiss_kappa([[2, 0], [1, 2]])
