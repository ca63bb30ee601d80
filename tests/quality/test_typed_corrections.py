"""What a person may say of a photo in place of what was measured."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.analysis.view import VIEWS
from triage.errors import UnknownError
from triage.quality.corrections import checked_correction


@pytest.mark.parametrize("view", VIEWS)
def test_every_view_may_be_said(view: str):
    assert checked_correction("view", view) == view


@pytest.mark.parametrize(
    ("field", "value", "said"),
    [
        ("view", "Dorsal", "dorsal"),
        ("view", "", "dorsal"),
        ("publication", "yes", "cleared"),
        ("publication", "", "withheld"),
        ("box", "", "fractions"),
        ("box", "0.1,0.1,0.9", "fractions"),
        ("box", "0.1,0.1,0.9,0.9,1", "fractions"),
        ("box", "0.9,0.1,0.1,0.9", "fractions"),
        ("box", "0.1,0.5,0.9,0.5", "fractions"),
        ("box", "-0.1,0.1,0.9,0.9", "fractions"),
        ("box", "0.1,0.1,0.9,1.1", "fractions"),
        ("box", "nan,0.1,0.9,0.9", "fractions"),
        ("box", "left,0.1,0.9,0.9", "fractions"),
    ],
)
def test_what_cannot_be_used_is_refused_with_what_can(field: str, value: str, said: str):
    with pytest.raises(UnknownError) as refused:
        checked_correction(field, value)
    assert said in f"{refused.value.what} {refused.value.next_step}"
    assert refused.value.failing == value


SIDES = st.tuples(st.floats(0, 1), st.floats(0, 1)).filter(lambda pair: pair[0] < pair[1])


@given(SIDES, SIDES)
def test_a_box_is_kept_as_it_was_said(across: tuple[float, float], down: tuple[float, float]):
    box = [across[0], down[0], across[1], down[1]]
    assert json.loads(checked_correction("box", "; ".join(map(repr, box)))) == box
