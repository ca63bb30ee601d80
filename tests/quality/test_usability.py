from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.quality.usability import FACTORS, STOUT, STOUT_PAIR, Factors, factors_of, usability

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


@pytest.mark.parametrize("name", [name for name in FACTORS if name != "exposure"])
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
    assert back.size == face.size == 0.9  # 900² / (900² + 300²)


SEEN = {"focus": 1.0, "exposure": 1.0, "body_cut": False, "wings_cut": False}


@given(st.floats(1, 4000), st.floats(1, 4000))
def test_a_longer_insect_is_never_worth_less_and_never_enough(one: float, other: float) -> None:
    low, high = sorted((one, other))
    short, long = (
        factors_of(insect_px=px, views={"dorsal": 1.0}, **SEEN).size  # type: ignore[arg-type]
        for px in (low, high)
    )
    assert 0 < short <= long < 1


def test_a_pair_is_worth_its_look_from_whatever_side() -> None:
    views = {"dorsal": 0.0, "lateral": 0.1, "anterior": 0.1, "oblique": 0.2, "other": 0.6}
    one = factors_of(insect_px=800, views=views, **SEEN)  # type: ignore[arg-type]
    two = factors_of(insect_px=800, views=views, pair=True, **SEEN)  # type: ignore[arg-type]
    assert usability(two, odonate=1.0) > usability(one, odonate=1.0) + 0.1


def test_broad_wings_name_a_short_animal() -> None:
    """A chaser from above, 170 pixels long and 340 wide, against a damselfly as long."""
    wide, slender = (
        factors_of(insect_px=170, span_px=span, views={"dorsal": 1.0}, **SEEN)  # type: ignore[arg-type]
        for span in (340, 175)
    )
    assert usability(wide, odonate=1.0) > usability(slender, odonate=1.0) + 0.2


@given(st.floats(1, 4000), st.floats(0, 4000), st.floats(0, 4000))
def test_wings_never_take_away(length: float, one: float, other: float) -> None:
    low, high = sorted((one, other))
    folded, spread = (
        factors_of(insect_px=length, span_px=span, views={"dorsal": 1.0}, **SEEN).size  # type: ignore[arg-type]
        for span in (low, high)
    )
    assert 0 < folded <= spread < 1


@given(st.floats(0, 1), st.floats(0, 1), st.booleans())
def test_a_stouter_body_is_never_worth_more(one: float, other: float, pair: bool) -> None:
    low, high = sorted((one, other))
    slender, stout = (
        factors_of(insect_px=700, breadth=breadth, pair=pair, views={"other": 1.0}, **SEEN)  # type: ignore[arg-type]
        for breadth in (low, high)
    )
    assert usability(stout, odonate=1.0) <= usability(slender, odonate=1.0)
    assert slender.framing == 1.0 or low > STOUT


def test_a_face_is_no_pair_however_sure_the_network_is() -> None:
    views = {"other": 1.0}
    wheel, face = (
        factors_of(insect_px=700, breadth=breadth, pair=True, views=views, **SEEN)  # type: ignore[arg-type]
        for breadth in (STOUT_PAIR, 0.9)
    )
    assert usability(wheel, odonate=1.0) > 0.85
    assert usability(face, odonate=1.0) < 0.5


@pytest.mark.parametrize(
    ("changed", "at_most"),
    [
        ({"insect_px": 120.0}, 0.2),
        ({"insect_px": 220.0}, 0.75),
        ({"focus": 0.3}, 0.5),
        ({"views": {"anterior": 1.0}}, 0.5),
        ({"views": {"oblique": 1.0}}, 0.9),
        ({"insect_px": 220.0, "focus": 0.4}, 0.35),
    ],
)
def test_small_soft_and_head_on_photos_fall_steeply(
    changed: dict[str, object], at_most: float
) -> None:
    best = {"insect_px": 1500.0, "views": {"lateral": 1.0}, **SEEN}
    given_ = factors_of(**{**best, **changed})  # type: ignore[arg-type]
    assert usability(given_, odonate=1.0) <= at_most
    assert usability(factors_of(**best), odonate=1.0) > 0.9  # type: ignore[arg-type]


def test_an_odonate_half_sure_is_worth_as_much_as_a_sure_one() -> None:
    best = Factors(**all_at(1.0))
    assert usability(best, odonate=0.5) == usability(best, odonate=1.0)
    assert usability(best, odonate=0.25) == pytest.approx(usability(best, odonate=1.0) / 2)
