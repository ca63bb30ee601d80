from __future__ import annotations

import numpy as np
import pytest

from triage.analysis.exposure import exposure


@pytest.mark.parametrize("level", [0, 128, 255])
def test_a_flat_region_has_no_exposure(level: int) -> None:
    assert exposure(np.full((8, 8), level)) == 0.0


def test_a_well_lit_region_with_contrast_is_best() -> None:
    assert exposure(np.linspace(40, 200, 256)) == 1.0


def test_darkening_and_burning_out_never_raise_it() -> None:
    tones = np.linspace(30, 220, 256)
    darker = [exposure(tones * share) for share in (1.0, 0.6, 0.3, 0.15, 0.05)]
    brighter = [exposure(np.minimum(255, tones + lift)) for lift in (0, 40, 80, 120, 200)]
    assert darker == sorted(darker, reverse=True)
    assert brighter == sorted(brighter, reverse=True)
    assert darker[-1] < 0.1 > brighter[-1]


def test_nothing_and_nonsense() -> None:
    assert exposure(np.zeros((0, 4))) == 0.0
    with pytest.raises(ValueError, match="finite"):
        exposure(np.array([np.nan]))


def test_a_white_background_is_no_fault_of_the_insect() -> None:
    insect = np.linspace(30, 170, 600)
    cut_out = np.concatenate([insect, np.full(1400, 255.0)])
    white, grass = np.full(400, 255), np.full(400, 110)
    assert exposure(cut_out, frame=white) == exposure(insect)
    assert exposure(cut_out, frame=grass) < 0.5
    assert exposure(np.full(50, 255), frame=white) == 0.0
