"""A whole survey is loaded without Python's search for circles, which is on again afterwards."""

from __future__ import annotations

import gc

import pytest

from triage.workers.many import many_records


def test_the_search_is_off_within_and_on_again_after_a_failure():
    assert gc.isenabled()
    with many_records(), many_records():
        assert not gc.isenabled()
    assert gc.isenabled()
    with pytest.raises(ValueError, match="bad"), many_records():
        raise ValueError("bad")
    assert gc.isenabled()


def test_an_inner_one_leaves_the_search_off_for_the_outer_one():
    with many_records():
        with many_records():
            pass
        assert not gc.isenabled()
