"""Intervals, similarity, association, season, detection and indices: published numbers.

Wilson: Newcombe 1998 (Stat. Med. 17: 857-872, Table I). Rank correlation: Hollander & Wolfe's
tuna. Dune meadow sites 1 to 3: vegan vegdist.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.estimates.association import nearness_test
from triage.estimates.biotic_index import biotic_index, rank_correlation
from triage.estimates.interval import log_normal, resampled, wilson
from triage.estimates.season import em50, season_of
from triage.estimates.similarity import compare_lists


@pytest.mark.parametrize(
    ("x", "n", "low", "high"),
    [
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0.0, 0.1611),
        (1, 29, 0.0061, 0.1718),
    ],
)
def test_wilson_of_newcombes_cases(x, n, low, high):
    found = wilson(x, n)
    assert (round(found.low, 4), round(found.high, 4)) == (low, high)


def test_a_share_of_nothing_could_be_anything():
    found = wilson(0, 0)
    assert math.isnan(found.value)
    assert (found.low, found.high) == (0.0, 1.0)


def test_an_impossible_share_is_refused():
    with pytest.raises(ValueError, match="no share"):
        wilson(3, 2)


def test_a_richness_without_unseen_taxa_has_no_width():
    found = log_normal(5, 5.0, 0.0, variant="x")
    assert (found.low, found.high) == (5.0, 5.0)


def test_resampling_of_a_mean_agrees_with_its_standard_error():
    samples = np.random.default_rng(3).random((200, 1)) < 0.3
    found = resampled(lambda m: float(m.mean()), samples, seed=1, variant="share")
    expected = math.sqrt(samples.mean() * (1 - samples.mean()) / 200)
    assert found.standard_error == pytest.approx(expected, rel=0.1)
    assert found.low < found.value < found.high


def test_jaccard_and_sorensen_of_the_dune_sites():
    def lists(a: int, b: int, c: int):
        return compare_lists(
            [f"s{i}" for i in range(a + b)],
            [f"s{i}" for i in range(a)] + [f"o{i}" for i in range(c)],
        )

    for a, b, c, jaccard, sorensen in [
        (5, 0, 5, 0.5, 0.666667),
        (4, 1, 6, 0.363636, 0.533333),
        (8, 2, 2, 0.666667, 0.8),
        (18, 1, 5, 0.75, 0.857143),
    ]:
        found = lists(a, b, c)
        assert found.jaccard.value == pytest.approx(jaccard, abs=5e-7)
        assert found.sorensen.value == pytest.approx(sorensen, abs=5e-7)


@given(st.sets(st.integers(0, 8)), st.sets(st.integers(0, 8)))
def test_similarity_is_symmetric_and_the_identity_holds(a: set[int], b: set[int]):
    found = compare_lists(map(str, a), map(str, b))
    back = compare_lists(map(str, b), map(str, a))
    assert found.shared == back.shared
    if not a and not b:
        assert math.isnan(found.jaccard.value)
        assert math.isnan(found.sorensen.value)
        return
    j, s = found.jaccard.value, found.sorensen.value
    assert s == pytest.approx(2 * j / (1 + j))
    assert found.jaccard.low <= j <= found.jaccard.high + 1e-12


def test_adults_beside_their_own_waters_are_nearer_than_chance():
    sites = [(53.90 + i / 100, 21.7, f"taxon {i}") for i in range(8)]
    adults = [(f"visit {i}", 53.90 + i / 100, 21.701, f"taxon {i}") for i in range(8)]
    found = nearness_test(adults, sites, seed=5)
    assert found.p == pytest.approx(1 / 1000)
    assert found.observed < 100 < found.expected
    again = nearness_test(adults, sites, seed=5)
    assert again == found


def test_under_chance_p_is_about_uniform():
    """Whole visits carry several photos: permuting photos would make p too small."""
    random = np.random.default_rng(8)
    sites = [(53.9 + random.random() / 10, 21.7, f"t{i % 5}") for i in range(10)]
    ps = []
    for trial in range(60):
        adults = []
        for visit in range(12):
            latitude, taxon = 53.9 + random.random() / 10, f"t{random.integers(5)}"
            adults += [(f"v{visit}", latitude, 21.7, taxon)] * 4
        ps.append(nearness_test(adults, sites, seed=trial, permutations=99).p)
    assert np.mean(np.array(ps) <= 0.1) <= 0.25


def test_too_little_to_permute_says_nothing():
    assert nearness_test([], [], seed=1).p == 1.0


def test_a_season_by_weights():
    found = season_of([150, 160, 170, 180], [1, 8, 1, 0])
    assert (found.first, found.p10, found.median, found.p90, found.last) == (
        150,
        150,
        160,
        160,
        170,
    )
    assert math.isnan(season_of([]).median)
    with pytest.raises(ValueError, match="not negative"):
        season_of([1.0], [-1.0])


def test_em50_of_a_synchronous_emergence_is_short():
    """Corbet: spring species have half of the year's emergence within days (from memory)."""
    found = em50([140, 141, 142, 143, 160], [30, 40, 20, 5, 5], seed=2)
    assert found.value == 1.0
    assert 0 <= found.low <= found.value <= found.high <= 2


def test_rank_correlation_of_the_tuna():
    x = [44.4, 45.9, 41.9, 53.3, 44.7, 44.1, 50.7, 45.2, 60.1]
    y = [2.6, 3.1, 2.5, 5.0, 3.6, 4.0, 5.2, 2.8, 3.8]
    found = rank_correlation(x, y)
    assert found.tau == pytest.approx(0.4444444, abs=5e-8)
    assert found.tau_p == pytest.approx(0.1194, abs=5e-5)
    assert found.rho == pytest.approx(0.6)
    iq = rank_correlation(
        [106, 100, 86, 101, 99, 103, 97, 113, 112, 110], [7, 27, 2, 50, 28, 29, 20, 12, 6, 17]
    )
    assert iq.rho == pytest.approx(-29 / 165)


def test_too_few_waters_have_no_correlation_and_always_a_warning():
    found = rank_correlation([1.0, 2.0], [2.0, 1.0])
    assert math.isnan(found.rho)
    assert "no cause" in found.warning.replace("\n", " ")


def test_an_index_without_scored_taxa_has_no_mean():
    assert math.isnan(biotic_index(["a"], {}).per_taxon)
