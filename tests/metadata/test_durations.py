"""Spans of time as people type them."""

from __future__ import annotations

import pytest

from triage.errors import UnknownError
from triage.metadata.durations import seconds_of, typed_span


@pytest.mark.parametrize(
    ("text", "seconds"),
    [("+1h", 3600), ("-30m", -1800), ("86308s", 86308), ("+1d2h", 93600), ("0.5h", 1800)],
)
def test_a_span_is_read_in_seconds(text: str, seconds: float):
    assert seconds_of(text) == seconds


@pytest.mark.parametrize("text", ["", "1", "h", "1x", "one hour", "+-1h"])
def test_anything_else_is_refused_with_an_example(text: str):
    with pytest.raises(UnknownError, match="Give it like"):
        seconds_of(text)


@pytest.mark.parametrize("seconds", [0, 1, -1800, 3600, 86_308, -93_600, 43_200])
def test_a_span_written_for_typing_reads_back(seconds: int):
    assert seconds_of(typed_span(seconds)) == seconds
