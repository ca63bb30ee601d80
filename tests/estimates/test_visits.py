"""Every estimate of a matrix of visits, and what the intervals are stated to hold."""

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.bench.intervals import bench, community, lines
from triage.estimates import hill_numbers, richness
from triage.estimates.held import HELD, LEAST_HELD, labelled
from triage.estimates.interval import Estimate
from triage.estimates.visits import coverage_of, diversity_of, frequency, richness_of

MATRIX = np.array([[3, 0, 1], [2, 1, 0], [5, 0, 0], [0, 2, 0], [1, 1, 0], [4, 0, 0]])


def test_every_estimator_has_the_value_of_its_function():
    found = richness_of(MATRIX, seed=1, rounds=20)
    assert found["Chao2, classic"].value == richness.chao2([5, 3, 1], 6, variant="classic").value
    assert found["Chao1, small-sample"].value == richness.chao1([15, 4, 1]).value
    assert found["jackknife 1"].value == pytest.approx(3 + 5 / 6)
    assert richness_of(MATRIX, seed=1, rounds=20) == found
    assert richness_of(MATRIX * 0, seed=1, rounds=20) == {}


@given(st.integers(0, 2**32 - 1))
def test_the_order_of_visits_changes_nothing(seed):
    """Visits are listed by people's codes, which are drawn anew for each survey."""
    random = np.random.default_rng(seed)
    counts, _, _ = community(random, 9, 8)
    shuffled = random.permutation(counts)
    first, second = (richness_of(some, seed=1, rounds=20) for some in (counts, shuffled))
    assert {name: repr(one) for name, one in first.items()} == {
        name: repr(one) for name, one in second.items()
    }


@given(st.integers(0, 2**32 - 1), st.integers(1, 12))
def test_bounds_are_whole_hold_what_was_seen_and_never_close(seed, visits):
    counts, _, _ = community(np.random.default_rng(seed), visits, 8)
    seen = int(counts.any(0).sum())
    for name, found in richness_of(counts, seed=1, rounds=9).items():
        if math.isnan(found.low):
            assert found.note == "too few visits", name
        else:
            assert visits >= 5
            assert found.low == int(found.low) >= seen
            assert found.low < found.high or seen == found.low


def test_few_visits_have_no_interval_of_anything():
    few = MATRIX[:4]
    by_individuals, by_visits = coverage_of(few)
    every = [by_visits, *richness_of(few, seed=1, rounds=20).values()]
    every += [one.estimated for one in diversity_of(few, coverage=0.5, seed=1, rounds=20)]
    assert {one.note for one in every} == {"too few visits"}
    assert by_individuals.note == "individuals of one visit go together"


def test_at_equal_coverage_the_longer_search_is_cut_to_the_shorter():
    random = np.random.default_rng(3)
    counts, _, _ = community(random, 40, 20)
    (zero, *_) = diversity_of(counts, coverage=0.5, seed=1, rounds=20)
    assert zero.visits < 40
    assert zero.alike.value < zero.observed
    assert 0.5 <= zero.coverage < 0.7


@pytest.mark.parametrize(
    ("size", "note"), [(4, ""), (5, "holds 81 %"), (9, "holds 81 %"), (25, "holds 86 %")]
)
def test_an_interval_that_holds_less_says_so(size, note):
    plain = Estimate(value=2.0, low=1.0, high=3.0, variant="")
    assert labelled("jackknife 1", plain, size).note == note
    assert labelled("Chao2", plain, 20).note == ""
    assert labelled("jackknife 1", Estimate(value=2.0, variant=""), size).note == ""


def test_the_documentation_states_what_the_report_says():
    page = (Path(__file__).parents[2] / "docs" / "figures" / "intervals.md").read_text("utf-8")
    rows = [[cell.strip() for cell in line.split("|")[1:-1]] for line in page.splitlines()]
    stated = {row[0]: [cell.split(" ")[0] for cell in row[2:6]] for row in rows if len(row) == 7}
    for name, by_size in HELD.items():
        same = [row for key, row in stated.items() if key.split(",")[0] == name]
        for place, (size, held) in enumerate(sorted(by_size.items())):
            mean = np.mean([float(row[place]) for row in same])
            assert held == pytest.approx(mean, abs=0.011), (name, size)
    for name, row in stated.items():
        if name in ("interval of", "---", "coverage") or "none" in row or not all(row):
            continue
        low = min(float(cell) for cell in row)
        assert low >= LEAST_HELD - 0.005 or name.split(",")[0] in HELD, name


def test_the_bench_measures_every_interval_that_is_labelled():
    found = bench(runs=1)
    assert set(HELD) <= {name.split(",")[0] for name in found}
    assert len(lines(found)) == 2 + len(found)
    for one in (one for by_size in found.values() for one in by_size.values()):
        assert one.none == 1 or 0 <= one.held <= 1


def test_visits_that_share_nothing_leave_coverage_open():
    """Ferry Bay, 0.12 (0.12 to 0.12): all taxa met once only closed the interval of Esty."""
    counts = np.eye(6, dtype=int)
    _, by_visits = coverage_of(counts)
    assert by_visits.low == 0.0
    assert by_visits.high > by_visits.value


def test_order_zero_is_chao2_with_its_own_interval():
    zero = diversity_of(MATRIX, coverage=0.5, seed=1, rounds=20)[0].estimated
    chao = richness_of(MATRIX, seed=1, rounds=20)["Chao2, small-sample"]
    assert (zero.value, zero.low, zero.high) == (chao.value, chao.low, chao.high)


@given(st.lists(st.lists(st.integers(0, 12), min_size=4, max_size=4), min_size=1, max_size=6))
def test_many_samples_at_once_are_estimated_as_each_alone(drawn):
    drawn, n = [[3, *row] for row in drawn], 12
    rows = np.array(drawn)
    together = np.column_stack(
        [
            richness.chao_values(rows, n, variant="small-sample"),
            richness.ace_values(rows),
            richness.jackknife_2_values(rows, n),
            richness.bootstrap_values(rows, n),
            hill_numbers.hill_numbers(rows, n, 7),
            hill_numbers.estimated_hill_numbers(rows, n, n),
        ]
    )
    alone = [
        [
            richness.chao2(row, n).value,
            richness.ace(row).value,
            richness.jackknife(row, n, order=2).value,
            richness.bootstrap(row, n).value,
            *(hill_numbers.hill_number(row, n, order=q, size=7) for q in (0, 1, 2)),
            *hill_numbers.estimated_hill_numbers(np.array([list(filter(None, row))]), n, n)[0],
        ]
        for row in drawn
    ]
    assert together == pytest.approx(np.array(alone), nan_ok=True)


def test_the_errors_of_richness_are_those_of_visits_drawn_one_by_one():
    counts = np.random.default_rng(5).poisson(0.15, (9, 12))
    counts = counts[np.lexsort(counts.T)]  # the order in which they are drawn
    random, ices, chaos = np.random.default_rng(1), [], []
    for _ in range(60):
        again = counts[random.integers(0, 9, 9)]
        found = frequency(again)
        rare = int((again[:, (found > 0) & (found <= richness.RARE)] > 0).any(1).sum())
        ices.append(richness.ice(found, 9, samples_with_rare=rare).value)
        chaos.append(richness.chao1(again.sum(0)).value)
    made = richness_of(counts, seed=1, rounds=60)
    assert made["ICE"].standard_error == pytest.approx(np.std(ices, ddof=1))
    assert made["Chao1, small-sample"].standard_error == pytest.approx(np.std(chaos, ddof=1))
