"""Audiovisual Core values: orientation vocabulary and regions of interest."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from triage.standards import audiovisual_core as ac

# Local names and strings of the controlled vocabulary, http://rs.tdwg.org/acorient/ (2023-04-26).
PUBLISHED = {
    "r0000": "unspecifiedOrientation",
    "r0001": "anterior",
    "r0003": "lateral",
    "r0006": "dorsal",
}


@pytest.mark.parametrize("view", ["dorsal", "lateral", "anterior", "oblique", "other", ""])
def test_iri_and_literal_are_a_pair_of_the_published_vocabulary(view):
    iri, literal = ac.subject_orientation(view)
    assert iri.startswith("http://rs.tdwg.org/acorient/values/")
    assert PUBLISHED[iri.rpartition("/")[2]] == literal


def test_an_oblique_view_is_unspecified_and_the_comment_names_it():
    assert ac.subject_orientation("oblique")[1] == "unspecifiedOrientation"
    assert ac.view_comment("oblique") == "view: oblique"
    assert ac.view_comment("dorsal") == ""


pixels = st.integers(min_value=1, max_value=12_000)


@settings(deadline=None)
@given(width=pixels, height=pixels, data=st.data())
def test_fractions_round_back_to_the_pixels_of_the_box(width, height, data):
    x0 = data.draw(st.integers(0, width - 1))
    y0 = data.draw(st.integers(0, height - 1))
    x1 = data.draw(st.integers(x0 + 1, width))
    y1 = data.draw(st.integers(y0 + 1, height))
    box = (x0 / width, y0 / height, x1 / width, y1 / height)
    fractions = {name: float(text) for name, text in ac.region_fractions(box).items()}
    assert round(fractions["xFrac"] * width) == x0
    assert round(fractions["yFrac"] * height) == y0
    assert round((fractions["xFrac"] + fractions["widthFrac"]) * width) == x1
    assert round((fractions["yFrac"] + fractions["heightFrac"]) * height) == y1
    assert fractions["xFrac"] + fractions["widthFrac"] <= 1 + 1e-12
    assert fractions["yFrac"] + fractions["heightFrac"] <= 1 + 1e-12


@pytest.mark.parametrize("box", [None, (0.5, 0.5, 0.5, 0.9), (1.2, 0.0, 1.5, 1.0)])
def test_a_box_without_area_has_no_region(box):
    assert ac.region_fractions(box) == {}


def test_a_box_beyond_the_image_is_clipped_to_it():
    assert ac.region_fractions((-0.1, 0.0, 1.3, 1.0))["widthFrac"] == "1.000000"
