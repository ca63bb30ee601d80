from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.pictures_made import MEASURED
from triage.analysis.view import Outline
from triage.quality import enlarged, rated
from triage.quality.shape import breadth, is_cut
from triage.quality.usability import STARTING_MODEL

WIDTH, HEIGHT = 400, 300


def ellipse(long: float, short: float, degrees: float) -> Outline:
    """The outermost points (left, top, right, bottom) of an ellipse with these half axes."""
    angle = math.radians(degrees)
    cos, sin = math.cos(angle), math.sin(angle)
    across, down = math.hypot(long * cos, short * sin), math.hypot(long * sin, short * cos)
    mixed = (long**2 - short**2) * sin * cos
    side, top = (across, mixed / across), (mixed / down, down)
    points = ((-side[0], -side[1]), (-top[0], -top[1]), side, top)
    return tuple((0.5 + x / WIDTH, 0.5 + y / HEIGHT) for x, y in points)


@pytest.mark.parametrize("degrees", [0, 90, 180])
@pytest.mark.parametrize("share", [0.1, 0.25, 0.5, 0.9])
def test_the_breadth_of_an_upright_ellipse_is_that_of_its_axes(share: float, degrees: int):
    found = breadth(ellipse(100, 100 * share, degrees), width=WIDTH, height=HEIGHT)
    assert found == pytest.approx(share, abs=1e-5)


@pytest.mark.parametrize("degrees", range(0, 180, 15))
def test_askew_a_slender_body_is_no_stouter_and_a_stout_one_stays_stout(degrees: int):
    slender, stout = (
        breadth(ellipse(100, 100 * share, degrees), width=WIDTH, height=HEIGHT)
        for share in (0.25, 0.6)
    )
    assert slender <= 0.25 + 1e-5
    assert 0.55 < stout < 0.65


@given(st.lists(st.tuples(st.floats(0, 1), st.floats(0, 1)), min_size=4, max_size=4))
def test_breadth_lies_between_nothing_and_one(points: list[tuple[float, float]]):
    assert 0 <= breadth(tuple(points), width=WIDTH, height=HEIGHT) <= 1


def test_without_an_outline_or_an_extent_there_is_no_breadth():
    assert breadth(None, width=WIDTH, height=HEIGHT) == 0.0
    assert breadth(((0.5, 0.5),) * 4, width=WIDTH, height=HEIGHT) == 0.0


@pytest.mark.parametrize(
    ("box", "cut"),
    [
        ((0.01, 0.2, 0.8, 0.8), True),
        ((0.2, 0.2, 0.8, 0.99), True),
        ((0.02, 0.02, 0.98, 0.98), False),
    ],
)
def test_a_box_at_the_frame_is_cut(box: tuple[float, float, float, float], cut: bool):
    assert is_cut(box) is cut


@pytest.mark.parametrize(
    ("kind", "share", "said"),
    [
        ("adult", 0.3, "seen from the back (100%)"),
        ("adult", 0.6, "looks foreshortened or shown in part"),
        ("pair", 0.6, "a pair"),
        ("pair", 0.9, "taken for a pair, too stout for one"),
    ],
)
def test_a_reason_says_what_the_shape_tells(kind: str, share: float, said: str):
    one = rated(replace(MEASURED, kind=kind, breadth=share), model=STARTING_MODEL)
    assert said in one.reasons
    stout = "looks foreshortened or shown in part" in one.reasons
    assert stout is (share > (0.7 if kind == "pair" else 0.4))


@pytest.mark.parametrize(("share", "said"), [(0.5, "seen"), (0.49, "perhaps seen")])
def test_a_view_less_likely_than_the_others_together_is_said_with_doubt(share: float, said: str):
    one = replace(MEASURED, p_dorsal=share, p_lateral=1 - share)
    assert f"{said} from the back ({share:.0%})" in rated(one, model=STARTING_MODEL).reasons
    assert one.doubt == ("perhaps " if share < 0.5 else "")


def test_a_view_that_is_not_told_is_not_doubted_as_well():
    one = replace(MEASURED, view="other", p_dorsal=0.3, p_oblique=0.3, p_other=0.4)
    assert one.doubt == ""


def test_a_photo_measured_at_half_its_size_has_twice_the_length_and_span():
    half = replace(MEASURED, insect_px=150.0, span_px=220.0)
    whole = enlarged(half, 2, model=STARTING_MODEL)
    assert (whole.insect_px, whole.span_px) == (300.0, 440.0)
    assert whole.usability > rated(half, model=STARTING_MODEL).usability
