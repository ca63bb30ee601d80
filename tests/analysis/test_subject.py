"""What the network sees, on photos that packages ship and on pictures made here."""

import numpy as np
import pytest

from triage.analysis import subject

SIZES = [(1, 1), (1, 3000), (3000, 1), (7, 5), (40, 2000)]


@pytest.mark.parametrize("size", SIZES)
def test_a_photo_of_any_size_gives_boxes_inside_it_and_views_that_sum_to_one(size):
    seen = subject.look_at(np.full((*size, 3), 90, dtype=np.uint8))
    for x0, y0, x1, y1 in (seen.box, seen.body_box, *seen.other_boxes):
        assert 0 <= x0 < x1 <= 1
        assert 0 <= y0 < y1 <= 1
    views = (seen.p_dorsal, seen.p_lateral, seen.p_anterior, seen.p_oblique, seen.p_other)
    assert sum(views) == pytest.approx(1)
    assert seen.odonate < 0.5


@pytest.mark.parametrize("given", [np.zeros((4, 4)), np.zeros((0, 4, 3), np.uint8)])
def test_what_is_no_rgb_photo_is_refused(given):
    with pytest.raises(ValueError, match="uint8 height x width x 3"):
        subject.look_at(given)
