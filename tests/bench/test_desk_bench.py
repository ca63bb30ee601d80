"""The bench of the desk on a small survey: every page answers and every figure is a time."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from triage.bench import desk_browser
from triage.bench.desk import MORE_PAGES, PAGES, bench, time_enters
from triage.desk import create_app
from triage.store.connection import open_survey
from triage.store.determinations import of_sightings


def test_every_page_of_a_simulated_survey_is_timed():
    cost = bench(create_app, photos=400, requests=7, enters=0)
    assert set(cost.pages) == {*PAGES, *MORE_PAGES, "one message"}
    assert all(spent > 0 for spent in (*cost.pages.values(), cost.record, cost.following))
    assert cost.bytes_before > 0
    lines = cost.lines()
    assert lines[0] == "| of 400 photos | ms |"
    assert any(line.startswith("7 requests") for line in lines)
    assert any(line.startswith("Enter to the next picture: not timed") for line in lines)


@pytest.mark.system("chromium")
@pytest.mark.skipif(not desk_browser.available(), reason="the browser chromium is not installed")
def test_enter_to_the_next_picture_is_timed_in_a_browser(tmp_path: Path):
    with ThreadPoolExecutor(1) as apart:  # another test's browser may be open in this thread
        waited = apart.submit(time_enters, create_app, tmp_path / "survey", 4).result()
    assert len(waited) == 4
    assert all(0 < one < 60_000 for one in waited)
    with open_survey(tmp_path / "survey") as survey:
        assert len([d for ones in of_sightings(survey).values() for d in ones]) == 4
