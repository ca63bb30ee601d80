"""Simulation with known truth: shares are the frequencies at which their sites are the origin."""

import pytest

from triage.bench.calibration import LANDS, SCENARIOS, calibrate, lines

AS_STATED, *OTHERWISE = SCENARIOS
FEWEST = 60  # rows in a bin


def bins(truth, kernel, half_side):
    found = calibrate(truth, kernel=kernel, **{**LANDS[kernel], "half_side": half_side}, seed=3)
    return [one for one in found if one.rows >= FEWEST]


@pytest.mark.parametrize(
    ("kernel", "half_side"), [("Zygoptera", 8_000.0), ("Anisoptera", 20_000.0)]
)
def test_a_share_is_the_frequency_with_which_its_site_is_the_origin(kernel, half_side):
    """Presence between 10 and 80 % of waters, outlines and circles, timely and untimely passes."""
    found = bins(AS_STATED, kernel, half_side)
    assert len(found) >= 10
    for one in found:
        # The psi of a taxon is estimated too: 0.03 beside four errors of the simulation.
        assert abs(one.true - one.stated) < 4 * one.error + 0.03, lines([one])


@pytest.mark.parametrize("truth", OTHERWISE, ids=lambda truth: truth.name)
def test_the_stated_range_holds_the_truth_when_kernel_or_waters_are_misjudged(truth):
    found = bins(truth, "Zygoptera", 8_000.0)
    assert len(found) >= 6
    for one in found:
        # At the very ends of the shares the bound itself is the truth or nearly.
        assert one.low - 0.05 - 3 * one.error <= one.true <= one.high + 0.05 + 3 * one.error


def test_a_misjudged_kernel_does_break_the_stated_share():
    """So the range is needed: with movement twice as wide \"none\" is overstated."""
    wide = bins(OTHERWISE[0], "Zygoptera", 8_000.0)
    off = [one.stated - one.true for one in wide if one.of_none and one.stated > 0.4]
    assert max(off) > 0.08
