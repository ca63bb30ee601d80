"""The bench of the desk on a small survey: every page answers and every figure is a time."""

from __future__ import annotations

from triage.bench.desk import MORE_PAGES, PAGES, bench
from triage.desk import create_app


def test_every_page_of_a_simulated_survey_is_timed():
    cost = bench(create_app, photos=400, requests=7)
    assert set(cost.pages) == {*PAGES, *MORE_PAGES, "one message"}
    assert all(spent > 0 for spent in (*cost.pages.values(), cost.record, cost.following))
    assert cost.bytes_after >= cost.bytes_before
    lines = cost.lines()
    assert lines[0] == "| of 400 photos | ms |"
    assert lines[-1].startswith("7 requests")
