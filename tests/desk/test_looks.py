"""Every room in both themes at three widths: readable by everybody, nothing beside the paper."""

from __future__ import annotations

from pathlib import Path

import pytest
from desk.conftest import CHROMIUM, Window, come_in_by_page, served, until
from desk.looking import Looks, overflows

from triage.cli import main
from triage.pipeline import sites
from triage.store.connection import create_survey

pytestmark = [
    pytest.mark.system("chromium"),
    pytest.mark.skipif(not CHROMIUM, reason="the browser chromium is not installed"),
]


PAGES = {
    "/jars/": "jars",
    "/jars/lot?number=EX-0001": "jars-lot",
    "/sites/": "sites",
    "/sites/?site=LNT-01": "sites-one",
    "/sites/table": "sites-table",
    "/sites/next": "sites-next",
    "/survey/": "survey",
    "/survey/log": "survey-log",
    "/survey/people": "survey-people",
    "/survey/tables": "survey-tables",
    "/survey/hand-on": "survey-hand-on",
    "/survey/letters": "survey-letters",
    "/survey/safety": "survey-safety",
    "/survey/settings": "survey-settings",
}
"""Rooms that are looked at as they open: their address, and what the picture is called."""


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("width", [1440, 1024, 320])
def test_every_room_is_readable(evening: Path, window: Window, theme: str, width: int):
    with served(evening) as place:
        page = window(width, 900, theme)
        looks = Looks(page, f"{width}-{theme}")
        look = looks.at
        page.goto(place + "/inbox/")
        look("who")
        come_in_by_page(page, place, "/inbox/")
        look("inbox")
        page.goto(page.locator("#list [data-message]").last.evaluate("n => n.href"))
        look("inbox-words")
        page.goto(place + "/determine/")
        page.wait_for_selector("#pictures img")
        look("determine")
        page.fill("#name", "aesh")
        page.keyboard.press("2")
        page.keyboard.press("F9")
        look("determine-naming")
        page.keyboard.press("Escape")
        page.keyboard.press("?")
        look("keys")
        for path, name in PAGES.items():
            page.goto(place + path)
            look(name)
        page.goto(place + "/nowhere")
        look("problem")
    assert looks.wrong == {}


@pytest.mark.parametrize(("width", "theme"), [(1440, "light"), (320, "dark")])
def test_a_page_that_waits_for_figures_is_readable_and_then_shows_them(
    evening: Path, window: Window, width: int, theme: str, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setattr(sites, "FEW", 0)
    with served(evening) as place:
        page = window(width, 900, theme)
        come_in_by_page(page, place, "/inbox/")
        page.route("**/sites/progress", lambda route: route.abort("aborted"))
        page.goto(place + "/sites/next")
        looks = Looks(page, f"{width}-{theme}")
        looks.at("sites-next-waiting")
        assert "worked out behind this page" in page.locator("#behind").inner_text()
        page.unroute("**/sites/progress")
        page.reload()
        until(page, lambda: page.locator(".next li").count() > 0)
    assert looks.wrong == {}


@pytest.mark.parametrize(("width", "theme"), [(1440, "light"), (320, "dark")])
def test_an_empty_survey_teaches_readably_in_every_room(
    tmp_path: Path, window: Window, width: int, theme: str
):
    create_survey(tmp_path / "survey", title="New survey")
    with served(tmp_path / "survey") as place:
        page = window(width, 900, theme)
        looks = Looks(page, f"{width}-{theme}")
        come_in_by_page(page, place, "/inbox/")
        taught = {
            "/inbox/": "Every photo is kept as it came",
            "/inbox/records/": "Nothing of people, names or years needs you",
            "/determine/": "No sighting yet",
            "/jars/": "no sites yet",
            "/sites/": "No site yet",
            "/sites/table": "No site has a determined adult",
            "/sites/next": "No place stands out yet",
            "/survey/": "Nothing is here yet",
            "/survey/log": "Nothing has been done in this survey yet",
            "/survey/people": "Nobody yet",
            "/survey/tables": "Which columns a table needs",
            "/survey/hand-on": "Nothing yet",
            "/survey/letters": "needs the survey's own mail address",
            "/survey/safety": "There is no backup yet",
        }
        for path, words in taught.items():
            page.goto(place + path)
            assert words in page.locator("main").inner_text(), path
            looks.at("empty" + path.replace("/", "-").rstrip("-"))
    assert looks.wrong == {}


def test_at_twice_the_size_nothing_lies_beside_the_paper(evening: Path, window: Window):
    with served(evening) as place:
        page = window(720, 450)  # a window of 1440 by 900 at 200 %
        come_in_by_page(page, place, "/inbox/")
        for path in ("/inbox/", *PAGES):
            page.goto(place + path)
            assert not overflows(page), path
        for size in ((720, 450), (683, 384)):
            page.set_viewport_size({"width": size[0], "height": size[1]})
            page.goto(place + "/determine/")
            page.wait_for_selector("#pictures img")
            assert not overflows(page)
            for seen in (".port", "#name"):  # the picture is whole beside the line for its name
                box = page.locator(seen).first.bounding_box()
                assert box["y"] >= 0
                assert box["y"] + box["height"] <= size[1]


@pytest.mark.parametrize("made", ["report/report.html", "queue.html"])
def test_on_a_sheet_of_paper_nothing_is_cut(
    made: str, evening: Path, tmp_path: Path, window: Window
):
    written = ["report", "--to"] if made.startswith("report") else ["queue", "--html"]
    assert main([*written, str(tmp_path / made.split("/")[0]), "--survey", str(evening)]) == 0
    page = window(703, 1000)  # A4 less its margins, 186 mm of 96 pixels an inch
    page.goto((tmp_path / made).as_uri())
    page.emulate_media(media="print")
    assert not overflows(page)
    boxes = "[...document.querySelectorAll('.wide, .pair')]"
    cut = page.evaluate(
        f"{boxes}.filter(e => e.scrollWidth > e.clientWidth + 1).map(e => e.textContent)"
    )
    assert cut == []
