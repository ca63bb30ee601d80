"""Heads: stored forms, probabilities, and what refuses to be a head."""

import dataclasses
import io

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from triage.analysis import view

features = hnp.arrays(np.float64, view.FEATURES, elements=st.floats(-20, 20, width=16))


@given(features)
def test_views_are_probabilities_for_any_features(vector):
    shares = view.view_probabilities(vector, view.shipped_heads())
    assert shares.shape == (5,)
    assert shares.sum() == pytest.approx(1)
    assert (shares >= 0).all()


@given(features)
def test_yes_or_no_heads_are_probabilities_for_any_features(vector):
    for head in (view.anisoptera_probability, view.odonate_probability, view.pair_probability):
        assert 0 <= float(head(vector, view.shipped_heads())) <= 1


@given(features)
def test_kept_features_read_back(vector):
    kept = vector.astype("<f2").tobytes()
    assert (view.stored_features(kept) == vector.astype(np.float16)).all()


def test_features_of_another_version_are_refused():
    with pytest.raises(ValueError, match="3 numbers, not 363"):
        view.stored_features(b"abcdef")


def test_heads_read_back_from_their_bytes():
    heads = view.shipped_heads()
    again = view.Heads.from_bytes(heads.to_bytes())
    for name in (field.name for field in dataclasses.fields(view.Heads)):
        assert np.array_equal(getattr(heads, name), getattr(again, name))


@pytest.mark.parametrize("data", [b"", b"PK\x03\x04broken", b"\x93NUMPY", view.__name__.encode()])
def test_bytes_that_are_no_heads_are_refused(data):
    with pytest.raises(ValueError, match="no heads in this file"):
        view.Heads.from_bytes(data)


def test_heads_for_other_features_are_refused():
    heads = dataclasses.replace(view.shipped_heads(), view=np.zeros((5, 7)))
    with pytest.raises(ValueError, match="head view has shape"):
        view.Heads.from_bytes(heads.to_bytes())


def test_heads_that_would_run_code_are_refused():
    file = io.BytesIO()
    np.savez(file, version=np.array([{"a": 1}], dtype=object), view=np.zeros(3))
    with pytest.raises(ValueError, match="no heads in this file"):
        view.Heads.from_bytes(file.getvalue())


def test_heads_kept_before_boxes_were_learned_move_no_side():
    with np.load(io.BytesIO(view.shipped_heads().to_bytes())) as held:
        older = {name: held[name] for name in held.files if not name.startswith("box")}
    file = io.BytesIO()
    np.savez(file, **older)
    heads = view.Heads.from_bytes(file.getvalue())
    box = (0.1, 0.2, 0.7, 0.9)
    assert view.moved_box(box, np.ones(view.FEATURES), heads) == box


@pytest.mark.parametrize("length", [view.HAND, view.SHAPE_FROM])
def test_heads_kept_before_hands_or_shapes_were_told_still_say_what_they_said(length):
    heads, features = view.shipped_heads(), np.ones(view.FEATURES)
    features[length:] = 0.0  # what was not yet told
    short = {
        field.name: getattr(heads, field.name)[:, :length]
        for field in dataclasses.fields(heads)
        if field.name != "version" and getattr(heads, field.name).ndim == 2
    }
    read = view.Heads.from_bytes(dataclasses.replace(heads, **short).to_bytes())
    given = view.view_probabilities(features, read)
    assert given.tolist() == view.view_probabilities(features, heads).tolist()
