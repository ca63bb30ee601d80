"""A span of time beside a time of day is not a second time of day."""

from __future__ import annotations

import pytest

from triage.metadata.text_times import find_clock_times


@pytest.mark.parametrize(
    "text",
    [
        "15:30. my camera clock runs 1 h 7 min behind",
        "at 15:30, the clock is 2 h behind",
        "15:30, i waited 3 h long",
    ],
)
def test_a_span_of_hours_is_no_time_of_day(text: str):
    times, _ = find_clock_times(text)
    assert times == [(15, 30, False)]


def test_an_hour_alone_is_still_read():
    assert find_clock_times("um 15 h am ufer")[0] == [(15, 0, False)]
