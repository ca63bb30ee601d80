from __future__ import annotations

import os

import pytest

from triage.pipeline.workers import in_order


def doubled(number: int) -> int:
    if number == 7:
        os._exit(3)  # as a native decoder does that dies on a hostile file
    return 2 * number


def lost(number: int) -> int:
    return -number


def test_results_come_in_order() -> None:
    inputs = [1, 2, 3, 4, 5, 6]
    assert list(in_order(doubled, inputs, processes=2, crashed=lost)) == [2, 4, 6, 8, 10, 12]


def test_only_the_input_that_kills_its_process_is_lost() -> None:
    inputs = [5, 6, 7, 8, 9]
    assert list(in_order(doubled, inputs, processes=2, crashed=lost)) == [10, 12, -7, 16, 18]


def test_no_processes_are_refused() -> None:
    with pytest.raises(ValueError, match="at least 1"):
        list(in_order(doubled, [1], processes=0, crashed=lost))
