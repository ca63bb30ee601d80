from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.quality.usability import FACTORS, Factors, factors_of, usability

share = st.floats(0, 1)


def all_at(value: float) -> dict[str, float]:
    return dict.fromkeys(FACTORS, value)


@given(share, st.sampled_from(FACTORS), share, share)
def test_a_better_factor_never_lowers_usability(
    rest: float, name: str, one: float, other: float
) -> None:
    low, high = sorted((one, other))
    worse = usability(Factors(**{**all_at(rest), name: low}), odonate=1.0)
    better = usability(Factors(**{**all_at(rest), name: high}), odonate=1.0)
    assert 0 <= worse <= better <= 1


@pytest.mark.parametrize("name", FACTORS)
def test_one_factor_at_nothing_spoils_the_photo(name: str) -> None:
    best = usability(Factors(**all_at(1.0)), odonate=1.0)
    spoilt = usability(Factors(**{**all_at(1.0), name: 0.0}), odonate=1.0)
    assert spoilt < best / 2


def test_no_odonate_cannot_be_named() -> None:
    assert usability(Factors(**all_at(1.0)), odonate=0.0) == 0.0


def test_a_face_alone_counts_less_than_a_back() -> None:
    back, face = (
        factors_of(
            focus=1,
            insect_px=900,
            views={view: 1.0},
            exposure=1,
            body_cut=False,
            wings_cut=False,
        )
        for view in ("dorsal", "anterior")
    )
    assert back.view > face.view
    assert back.size == 1.0
