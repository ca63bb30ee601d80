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

from triage.estimates import interval
from triage.estimates.association import nearness_test
from triage.estimates.biotic_index import biotic_index, rank_correlation
from triage.estimates.interval import error_of_draws, log_normal, times_drawn, wilson
from triage.estimates.season import em50, season_of, unwrapped
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


@pytest.mark.parametrize("variance", [0.0, math.nan])
def test_an_interval_that_would_close_on_its_estimate_is_none(variance):
    found = log_normal(5, 6.0, variance, variant="x")
    assert math.isnan(found.low)
    assert found.note == "too few visits"
    assert math.isnan(log_normal(5, 5.0, 1.0, variant="x").low)


def test_resampling_of_a_mean_agrees_with_its_standard_error():
    samples = np.random.default_rng(3).random((200, 1)) < 0.3
    means = [times @ samples / 200 for times in times_drawn(200, seed=1, rounds=999)]
    error = error_of_draws(np.concatenate(means))
    expected = math.sqrt(samples.mean() * (1 - samples.mean()) / 200)
    assert float(error[0]) == pytest.approx(expected, rel=0.1)


def test_one_sample_cannot_be_resampled():
    assert list(times_drawn(1, seed=1, rounds=99)) == []
    assert np.isnan(error_of_draws(np.empty((0, 2)))).tolist() == [True, True]


def test_samples_are_drawn_alike_in_one_portion_or_in_several(monkeypatch):
    (whole,) = times_drawn(7, seed=1, rounds=20)
    monkeypatch.setattr(interval, "_MOST_DRAWN", 7 * 6)
    assert np.concatenate(list(times_drawn(7, seed=1, rounds=20))).tolist() == whole.tolist()
    assert whole.sum(1).tolist() == [7] * 20


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


def test_under_chance_the_test_rejects_as_often_as_it_says():
    """Waters have taxa of their own, seen on every outing: permuting outings rejected 16-30 %."""
    random = np.random.default_rng(8)
    sites = [(53.9 + random.random() / 10, 21.7, f"t{i % 5}") for i in range(10)]
    ps = []
    for trial in range(200):
        adults = []
        for water in range(8):
            latitude, taxa = 53.9 + random.random() / 10, random.choice(5, 2, replace=False)
            adults += [
                (f"w{water}", latitude, 21.7, f"t{taxon}")
                for taxon in taxa
                for _ in range(int(random.integers(1, 6)))
            ]
        ps.append(nearness_test(adults, sites, seed=trial, permutations=99).p)
    # 5 % of 200 is 10; 20 or more would come in 2 of 1,000 runs.
    assert sum(p <= 0.05 for p in ps) < 20


def test_too_little_to_permute_says_nothing():
    found = nearness_test([], [], seed=1)
    assert math.isnan(found.p)
    assert math.isnan(found.observed)


def test_the_middle_of_a_water_across_the_180th_meridian_lies_there():
    adults = [("w", 10.0, 179.99, "t"), ("w", 10.0, -179.99, "t"), ("v", 10.0, 175.0, "t")]
    found = nearness_test(adults, [(10.0, 180.0, "t")], seed=1, permutations=9)
    assert found.observed == pytest.approx(548_000 / 3, rel=0.01)  # 5 degrees, and twice nothing


@pytest.mark.parametrize(
    ("days", "season", "expected"),
    [
        ([150, 200], None, [150, 200]),  # a summer season stays
        ([350, 10, 20], None, [350, 375, 385]),
        ([1, 366], None, [366, 366]),
        ([180], None, [180]),
        ([], None, []),
        ([230, 270, 75, 115], (213, 160), [230, 270, 440, 480]),
        ([230, 270, 75, 115], (60, 280), [230, 270, 75, 115]),
    ],
)
def test_days_over_the_new_year_are_laid_on_a_line(days, season, expected):
    assert unwrapped(days, season=season) == expected


def test_the_median_of_a_winter_lies_between_its_days():
    """Sympecma: days 230 to 270 and 75 to 115 gave a median of 115 beside a first day of 75."""
    days = unwrapped([230, 250, 270, 75, 115], season=(213, 160))
    found = season_of(days)
    assert (found.first, found.median, found.last) == (230, 270, 480)


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
    assert 0 <= found.low <= found.value <= found.high


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
