"""Every room in both themes at three widths: readable by everybody, nothing beside the paper."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from desk.conftest import CHROMIUM, Window, come_in_by_page, photographed, served

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


def violations(page: Any) -> list[str]:
    """What axe-core finds (Deque, the accessibility engine; its rules follow WCAG 2)."""
    from axe_playwright_python.sync_playwright import Axe

    found = Axe().run(page).response["violations"]
    return [f"{v['id']}: {node['html'][:120]}" for v in found for node in v["nodes"][:3]]


def overflows(page: Any) -> bool:
    return bool(page.evaluate("document.scrollingElement.scrollWidth > window.innerWidth + 1"))


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("width", [1440, 1024, 390])
def test_every_room_is_readable(evening: Path, window: Window, theme: str, width: int):
    with served(evening) as place:
        page = window(width, 900, theme)
        found = {}

        def look(name: str) -> None:
            page.wait_for_timeout(200)
            photographed(page, f"{name}-{width}-{theme}")
            wrong = violations(page) + (["wider than the window"] if overflows(page) else [])
            if wrong:
                found[name] = wrong

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
    assert found == {}


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_an_empty_survey_teaches_readably(tmp_path: Path, window: Window, theme: str):
    create_survey(tmp_path / "survey", title="New survey")
    with served(tmp_path / "survey") as place:
        page = window(1024, 768, theme)
        come_in_by_page(page, place, "/inbox/")
        photographed(page, f"empty-inbox-{theme}")
        assert violations(page) == []
        page.goto(place + "/determine/")
        assert "Nothing waits for you" in page.locator("main").inner_text()
        photographed(page, f"empty-determine-{theme}")
        assert violations(page) == []


def test_at_twice_the_size_nothing_lies_beside_the_paper(evening: Path, window: Window):
    with served(evening) as place:
        page = window(720, 450)  # a window of 1440 by 900 at 200 %
        come_in_by_page(page, place, "/inbox/")
        assert not overflows(page)
        page.goto(place + "/determine/")
        page.wait_for_selector("#pictures img")
        assert not overflows(page)
        assert page.locator("#name").is_visible()
