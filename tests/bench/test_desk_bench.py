"""The bench of the desk on a small survey: every page answers and every figure is a time."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from triage.bench import desk_browser
from triage.bench.desk import MORE_PAGES, PAGES, bench, time_enters, words_of_enter
from triage.desk import create_app
from triage.store.connection import open_survey
from triage.store.determinations import of_sightings


def test_every_page_of_a_simulated_survey_is_timed():
    lines = bench(create_app, photos=400, requests=7, enters=0)
    assert lines[0] == "| of 400 photos | ms |"
    timed = [line.split(" | ") for line in lines[2:] if line.startswith("| ")]
    also = ("one message", "recording a determination", "the next sighting")
    assert [one[0].removeprefix("| ") for one in timed] == [*PAGES, *MORE_PAGES, *also]
    assert all(int(one[1].removesuffix(" |")) > 0 for one in timed)
    assert any(line.startswith("7 requests: the memory held grew by") for line in lines)
    assert lines[-1].startswith("Enter to the next picture: not timed")


def test_the_words_of_enter_name_the_load_where_the_system_tells_it():
    told = "median 20 ms of 3 determinations, 10 to 60 ms"
    assert told in words_of_enter([10.0, 20.0, 60.0], None)
    assert words_of_enter([10.0, 20.0, 60.0], 1.5).endswith(f"{told}, under a load of 1.5.")


@pytest.mark.system("chromium")
@pytest.mark.skipif(not desk_browser.available(), reason="the browser chromium is not installed")
def test_enter_to_the_next_picture_is_timed_in_a_browser(tmp_path: Path):
    with ThreadPoolExecutor(1) as apart:  # another test's browser may be open in this thread
        waited = apart.submit(time_enters, create_app, tmp_path / "survey", 4).result()
    assert len(waited) == 4
    assert all(0 < one < 60_000 for one in waited)
    with open_survey(tmp_path / "survey") as survey:
        assert len([d for ones in of_sightings(survey).values() for d in ones]) == 4
