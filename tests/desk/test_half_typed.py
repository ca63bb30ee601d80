"""What is typed or ticked and not sent is there again, and one press decides once: in a browser."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from desk.conftest import (
    CHROMIUM,
    Window,
    come_in_by_page,
    in_hand,
    photographed,
    served,
    to_determine,
    to_need,
    until,
)
from desk.desks import done

from triage.desk import opened
from triage.store import messages
from triage.store.connection import open_survey

pytestmark = [
    pytest.mark.system("chromium"),
    pytest.mark.skipif(not CHROMIUM, reason="the browser chromium is not installed"),
]

HERE_AGAIN = "text=What you typed is here again"


def values(page: Any, fields: dict[str, str]) -> dict[str, str]:
    return {name: page.input_value(name) for name in fields}


@pytest.mark.parametrize(
    ("path", "fields"),
    [
        ("/jars/", {"#site": "Heron Mere", "#day": "2026-06-13", "[name=remarks-3]": "two broken"}),
        ("/jars/lot?number=EX-0001", {"#name": "Aeshna cf. mixta", "#remarks": "by its mask"}),
        ("/survey/settings", {"#survey-contact": "Bea 🐉 <b>Holm</b>"}),
        ("/survey/people", {"[name=first]": "nell@example.org"}),
        ("/survey/hand-on", {"[name=whom]": "Ida Kvist", "[name=count]": "12"}),
        ("an open message", {"#aside": "a drawing, not a photo", "#site": "Heron"}),
    ],
)
def test_what_is_half_typed_is_there_again(
    evening: Path, window: Window, path: str, fields: dict[str, str]
):
    with served(evening) as place:
        page = window()
        come_in_by_page(page, place, "/inbox/")
        if path.startswith("/"):
            page.goto(place + path)
        else:
            to_need(page, "no place")
        address = page.url
        page.evaluate("for (const n of document.querySelectorAll('details')) n.open = true")
        for name, text in fields.items():
            page.fill(name, text)
        for promise in page.locator("main [name=sure]").all():
            promise.check()
        for left in ("loaded again", "another room and back", "the browser's back"):
            if left == "loaded again":
                page.reload()
            else:
                page.click(".top nav a:has-text('Sites')")
                page.wait_for_selector("#ground")
                if left == "the browser's back":
                    page.go_back()
                else:
                    page.goto(address)
            page.wait_for_selector(HERE_AGAIN)
            assert values(page, fields) == fields, left
            assert page.locator("main [name=sure]:checked").count() == 0
        photographed(page, f"half typed at {path.strip('/').replace('/', ' ')}")
        page.goto(f"{place}/jars/lot?number=EX-0002")  # what is another thing's does not come up
        assert page.locator(HERE_AGAIN).count() == 0
        assert page.locator("text=This page has no field now").count() == 0


def test_ticks_go_along_from_message_to_message_and_are_told(evening: Path, window: Window):
    with served(evening) as place:
        page = window()
        come_in_by_page(page, place, "/inbox/")
        to_need(page, "no dragonfly seen")
        subjects = []
        for _ in range(3):
            subjects.append(page.locator("#list .here a").inner_text())
            before = page.url
            page.keyboard.press("x")
            page.keyboard.press("ArrowDown")
            until(
                page,
                lambda now=before: (
                    page.url != now and page.locator("html[data-ready]").count() == 1
                ),
            )
        told = page.locator("#ticked").inner_text()
        assert all(f"“{subject}”" in told for subject in subjects)
        photographed(page, "ticked messages")
        page.go_back()
        page.wait_for_selector("html[data-ready]")
        assert page.locator("#list input:checked").count() == 3
        assert subjects[2] not in page.locator("#ticked").inner_text()  # it is the one on the page
        page.click("text=Take the ticks away")
        assert page.locator("#list input:checked").count() == 0
        assert page.locator("#ticked").inner_text() == ""
        page.keyboard.press("x")
        page.goto(page.locator("#list a[data-message]").first.evaluate("n => n.href"))
        page.locator("summary", has_text="Other decisions").click()
        page.fill("#aside", "not of this survey")
        page.locator("button[value=aside]").last.click()
        page.wait_for_selector("text=Your last: set aside: not of this survey")
        assert page.locator("#list input:checked").count() == 0
    with open_survey(evening) as survey:
        aside = [m for m in messages.every(survey) if m.state_reason == "not of this survey"]
    assert len(aside) == 2


def test_a_key_that_is_held_and_a_double_click_decide_once(evening: Path, window: Window):
    with served(evening) as place:
        page = window()
        come_in_by_page(page, place, "/inbox/")
        to_need(page, "no dragonfly seen")
        before, first = done(evening), page.url
        page.keyboard.down("1")
        until(page, lambda: page.url != first and page.locator("html[data-ready]").count() == 1)
        second = page.url
        page.keyboard.down("1")  # the browser repeats it while it is held
        page.keyboard.up("1")
        button = page.locator("#decision button[data-digit]").first.bounding_box()
        page.mouse.move(button["x"] + 9, button["y"] + 9)
        page.mouse.down(click_count=2)  # the second click of a double one
        page.mouse.up(click_count=2)
        page.keyboard.press("x")  # heard after both
        assert page.locator("#list .here input").is_checked()
        assert page.locator("form[data-waits]").count() == 0
        assert page.url == second
    assert len(done(evening)) == len(before) + 1


def test_what_is_half_typed_stays_with_its_sighting(evening: Path, window: Window):
    with served(evening) as place:
        page = window()
        to_determine(page, place)
        first = in_hand(page)
        for key in ("F4", "F8", ":"):
            page.keyboard.press(key)
        page.keyboard.type("wings worn")
        page.keyboard.press("Enter")
        page.keyboard.type("anim")
        page.keyboard.press("1")
        page.keyboard.press("Escape")  # clears the name, and nothing else
        said = "female · second opinion asked for · wings worn"
        assert page.locator("#statement").inner_text() == said
        assert page.input_value("#remarks") == "wings worn"
        page.keyboard.press("/")
        until(page, lambda: in_hand(page) not in ("", first))
        assert page.locator("#statement").inner_text() == ""
        while in_hand(page) != first:  # until nothing else waits
            before = in_hand(page)
            page.keyboard.press("/")
            until(page, lambda now=before: in_hand(page) not in ("", now))
        assert page.locator("#statement").inner_text() == said
        assert page.input_value("#remarks") == "wings worn"
        page.locator("#remarks").fill("w" * (opened.LONGEST + 1))
        page.locator("#name").fill("Anax imperator")
        page.keyboard.press("Enter")
        assert "5,001 characters" in page.locator("#said").inner_text()
        assert in_hand(page) == first


def test_the_focus_is_never_lost_and_back_is_the_site_before(evening: Path, window: Window):
    with served(evening) as place:
        page = window()
        come_in_by_page(page, place, "/inbox/")
        page.goto(f"{place}/sites/")
        page.wait_for_selector("html[data-ready]")
        first, other = page.locator("#site .names a").all_inner_texts()[:2]
        page.locator("#site .names a").first.press("Enter")  # a link that the site replaces
        until(page, lambda: page.evaluate("document.activeElement.innerText") == first)
        page.locator(f"#ground a[aria-label='{other}']").press("Enter")
        until(page, lambda: page.locator("#site h2").inner_text() == other)
        assert page.evaluate("document.activeElement.getAttribute('aria-label')") == other
        page.go_back()
        until(page, lambda: page.locator("#site h2").inner_text() == first)
        page.go_back()
        until(page, lambda: page.locator("#site h2").inner_text() == "Choose a site")


def test_two_quick_keys_take_two_back(evening: Path, window: Window):
    with served(evening) as place:
        page = window()
        to_determine(page, place)
        for letters in ("anim", "libe"):
            before = in_hand(page)
            for key in (*letters, "1", "Enter"):
                page.keyboard.press(key)
            until(page, lambda now=before: in_hand(page) not in ("", now))
        until(page, lambda: done(evening)[:2] == ["determine", "determine"])
        page.keyboard.press("<")
        page.keyboard.press("<")
        until(page, lambda: done(evening)[:2] == ["undo", "undo"])
        until(page, lambda: page.locator("#name").input_value() == "Anax imperator")
