"""Say what an interval really holds for a sample of this size."""

from __future__ import annotations

from dataclasses import replace

from triage.estimates.interval import Estimate

LEAST_HELD = 0.90  # an interval of nominally 95 % that holds the truth less often says so

HELD: dict[str, dict[int, float]] = {
    "Chao1": {5: 0.83, 10: 0.92, 20: 0.96, 40: 0.97},
    "Chao2": {5: 0.89, 10: 0.95, 20: 0.98, 40: 0.97},
    "ICE": {5: 0.85, 10: 0.95, 20: 0.98, 40: 0.98},
    "jackknife 1": {5: 0.81, 10: 0.83, 20: 0.86, 40: 0.89},
    "jackknife 2": {5: 0.83, 10: 0.85, 20: 0.89, 40: 0.89},
    "Hill number 1": {5: 0.87, 10: 0.92, 20: 0.92, 40: 0.92},
    "Hill number 2": {5: 0.80, 10: 0.88, 20: 0.90, 40: 0.92},
    "median day": {5: 0.84, 10: 0.90, 20: 0.94, 40: 0.97},
    "EM50": {5: 0.87, 10: 0.85, 20: 0.88, 40: 0.84},
}
"""How often each nominal 95 % interval held the truth on clumped visits, from so many visits (or
days of collection) on: `triage bench intervals`, which docs/figures/intervals.md shows whole."""


def labelled(name: str, estimate: Estimate, size: int) -> Estimate:
    """The estimate with what its interval holds, where that is less than LEAST_HELD."""
    known = [held for least, held in sorted(HELD.get(name, {}).items()) if least <= size]
    held = known[-1] if known else 1.0
    if held >= LEAST_HELD or estimate.low != estimate.low:
        return estimate
    return replace(estimate, note=f"holds {100 * held:.0f} %")
