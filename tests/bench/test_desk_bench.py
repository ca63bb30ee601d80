"""The bench of the desk on a small survey: every page answers and every figure is a time."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from triage.bench import desk_browser
from triage.bench.desk import BEHIND, MORE_PAGES, PAGES, time_pages
from triage.bench.desk_browser import time_enters, words_of_enter
from triage.bench.scale import make_survey
from triage.bench.survey_work import prepare
from triage.desk import create_app
from triage.store.connection import open_survey
from triage.store.determinations import of_sightings


def test_every_page_of_a_simulated_survey_is_timed(tmp_path: Path):
    make_survey(tmp_path / "survey", 400)
    prepare(tmp_path / "survey")
    found = time_pages(create_app(tmp_path / "survey"), requests=7)
    pages = [f"page {path}, ms" for path in (*PAGES, *MORE_PAGES, "one message")]
    also = ["recording a determination, ms", "the next sighting, ms"]
    behind = [f"page {path}, made behind it, s" for path in BEHIND]
    assert list(found)[:-1] == [*behind, *pages, *also]
    assert all(found[what] > 0 for what in (*behind, *pages, *also))
    assert "memory that 7 more requests take, MB" in found


def test_the_words_of_enter_name_the_load_where_the_system_tells_it():
    told = "median 20 ms of 3 determinations, 10 to 60 ms"
    assert told in words_of_enter([10.0, 20.0, 60.0], None)
    assert words_of_enter([10.0, 20.0, 60.0], 1.5).endswith(f"{told}, under a load of 1.5.")


def test_without_a_browser_nothing_is_timed(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(desk_browser, "available", lambda: False)
    assert desk_browser.bench(create_app).startswith("Enter to the next picture: not timed")


@pytest.mark.system("chromium")
@pytest.mark.skipif(not desk_browser.available(), reason="the browser chromium is not installed")
def test_enter_to_the_next_picture_is_timed_in_a_browser(tmp_path: Path):
    with ThreadPoolExecutor(1) as apart:  # another test's browser may be open in this thread
        waited = apart.submit(time_enters, create_app, tmp_path / "survey", 4).result()
    assert len(waited) == 4
    assert all(0 < one < 60_000 for one in waited)
    with open_survey(tmp_path / "survey") as survey:
        assert len([d for ones in of_sightings(survey).values() for d in ones]) == 4
