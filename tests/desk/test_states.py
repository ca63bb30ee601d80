"""What rooms look like in the middle of the work: every state that a person can bring about."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from desk.conftest import (
    CHROMIUM,
    Window,
    come_in_by_page,
    in_hand,
    served,
    to_determine,
    to_need,
    until,
)
from desk.looking import Looks
from tests_support import NOW

from triage.inbox import Settlement
from triage.pipeline import settle
from triage.pipeline.message_page import open_messages
from triage.store import messages
from triage.store.connection import open_survey

pytestmark = [
    pytest.mark.system("chromium"),
    pytest.mark.skipif(not CHROMIUM, reason="the browser chromium is not installed"),
]
both = pytest.mark.parametrize(("width", "theme"), [(1440, "light"), (320, "dark")])
TABLE = b"catalogNumber,eventID,scientificName,individualCount\nEX-0902,V01,Anax,many\n"


def first_of_each_need(page: Any) -> dict[str, str]:
    """Addresses of messages of the inbox, one for each need on its list."""
    pairs = page.locator("#list section").evaluate_all(
        "all => all.map(s => [s.querySelector('h2').firstChild.data.trim(),"
        " s.querySelector('[data-message]').href])"
    )
    return dict(pairs)


def unfold(page: Any, folded: str) -> None:
    page.locator(folded).evaluate_all("all => all.forEach(n => { n.open = true; })")


@both
def test_states_of_the_inbox(evening: Path, window: Window, width: int, theme: str):
    with served(evening) as place:
        page = window(width, 900, theme)
        looks = Looks(page, f"{width}-{theme}")
        come_in_by_page(page, place, "/inbox/")
        for need, address in first_of_each_need(page).items():
            page.goto(address)
            looks.at("inbox-" + need.replace(" ", "-"))
        assert len(looks.seen) > 7
        unfold(page, "#decision details")
        looks.at("inbox-all-decisions")
        page.keyboard.press("x")
        assert page.locator("#list .here input").is_checked()
        page.keyboard.press("s")
        assert page.locator("#site").evaluate("n => n === document.activeElement")
        looks.at("inbox-ticked")
        page.goto(place + "/inbox/")
        to_need(page, "no place")
        page.locator("#decision button", has_text="Ask which water").click()
        page.wait_for_selector("#words")
        looks.at("letter")
        with page.expect_navigation():
            page.click("text=Save these words")
        looks.at("letter-saved")
        page.goto(place + "/inbox/")
        page.keyboard.press("<")
        page.wait_for_selector("#redo")
        looks.at("inbox-taken-back")
        page.goto(place + "/inbox/records/")
        looks.at("records")
    assert looks.wrong == {}


@both
def test_the_end_of_the_inbox(evening: Path, window: Window, width: int, theme: str):
    with open_survey(evening) as survey:
        for group in open_messages(survey):
            ones = [m.identifier for s in group.senders for m in s.messages]
            settle.settle(survey, ones, Settlement(set_aside="done"), by="Ada Moor", now=NOW)
        assert messages.counts(survey)[0] > 10
    with served(evening) as place:
        page = window(width, 900, theme)
        looks = Looks(page, f"{width}-{theme}")
        come_in_by_page(page, place, "/inbox/")
        assert "Every message is settled" in page.locator("main h1").first.inner_text()
        looks.at("inbox-end")
    assert looks.wrong == {}


@both
def test_states_of_determining(evening: Path, window: Window, width: int, theme: str):
    with served(evening) as place:
        page = window(width, 900, theme)
        looks = Looks(page, f"{width}-{theme}")
        to_determine(page, place)
        while page.locator("#pictures .pane").count() < 3:
            before = in_hand(page)
            page.keyboard.press("/")
            until(page, lambda before=before: in_hand(page) != before)  # type: ignore[misc]
        for key, name in (
            ("F6", "stage"), ("F7", "behaviour"), ("F9", "cannot"), ("!", "other"), (";", "view"),
        ):  # fmt: skip
            page.keyboard.press(key)
            page.wait_for_selector("#panel button")
            looks.at(f"determine-{name}")
            page.keyboard.press("Escape")
        page.keyboard.press("%")
        page.keyboard.press("1")
        looks.at("determine-split")
        page.keyboard.press("Enter")
        until(page, lambda: "Split" in page.locator("#said").inner_text())
        page.keyboard.press("&")
        page.wait_for_selector("#panel .shown button img")
        page.keyboard.press("1")
        looks.at("determine-merge")
        page.keyboard.press("Escape")
        page.keyboard.press("$")
        looks.at("determine-box")
        page.keyboard.press("Escape")
        unfold(page, "#column details")
        page.keyboard.press(")")
        looks.at("determine-all-buttons")
        before = in_hand(page)
        for key in (*"aesh", "1", "F3", "F4", "F8", ":"):
            page.keyboard.press(key)
        page.keyboard.type("worn wings")
        looks.at("determine-remarks")
        page.keyboard.press("Enter")
        page.keyboard.press("Enter")
        until(page, lambda: in_hand(page) != before)
        until(page, lambda: "It stands as" in page.locator("#said").inner_text())
        looks.at("determine-recorded")
        page.locator(".menu summary").click()
        looks.at("menu")
        page.keyboard.press("@")
        page.wait_for_selector("#room[data-blind=yes]")
        page.wait_for_selector("#pictures img")
        page.keyboard.type("aesh")
        looks.at("determine-blind")
    until(page, lambda: page.locator("#gone").count() == 1)
    page.keyboard.press("1")
    page.keyboard.press("Enter")
    page.wait_for_selector("#gone:not([hidden])")
    looks.at("gone")
    assert looks.wrong == {}


@both
def test_states_of_jars_and_sites(evening: Path, window: Window, width: int, theme: str):
    with served(evening) as place:
        page = window(width, 900, theme)
        looks = Looks(page, f"{width}-{theme}")
        come_in_by_page(page, place, "/inbox/")
        page.goto(place + "/jars/")
        for field, words in (("site", "Heron Meer"), ("day", "2026-06-13"), ("number", "EX-0900")):
            page.fill(f"[name={field}]", words)
        page.fill("[name=name-0]", "Anax imperatr")
        page.fill("[name=count-0]", "9")
        page.press("[name=count-0]", "Enter")
        page.wait_for_selector("[role=alert].wrong")
        looks.at("jars-wrong")
        for wanted in ("use:site:Heron Mere", "use:name-0:Anax imperator"):
            page.click(f"button[value='{wanted}']")
            page.wait_for_selector("main:not(:has([role=alert]))")
            page.click("text=Record this jar")
            page.wait_for_selector("main [role=alert], main .done")
        page.wait_for_selector("[role=status].done")
        looks.at("jars-recorded")
        page.set_input_files(
            "[name=table]", {"name": "lots.csv", "mimeType": "text/csv", "buffer": TABLE}
        )
        page.select_option("[name=kind]", "lots")
        page.click("text=Take the table in")
        page.wait_for_selector("text=EX-0902")
        looks.at("table-refused")
        page.goto(place + "/sites/")
        page.focus("#ground")
        page.keyboard.press("+")
        page.focus("a.place[data-site=LNT-01]")
        page.keyboard.press("Enter")
        page.wait_for_selector("#site h2")
        looks.at("sites-chosen")
    assert looks.wrong == {}


@both
def test_states_of_the_survey(evening: Path, window: Window, width: int, theme: str):
    with served(evening) as place:
        page = window(width, 900, theme)
        looks = Looks(page, f"{width}-{theme}")
        to_determine(page, place)
        before = in_hand(page)
        for key in (*"libe", "1", "Enter"):  # a name of its season: others ask for a second opinion
            page.keyboard.press(key)
        until(page, lambda: in_hand(page) != before)
        until(page, lambda: "Recorded" in page.locator("#said").inner_text())
        for what in ("thanks", "season letters"):
            page.goto(place + "/survey/letters")
            page.click(f"text=Show the {what}")
            page.wait_for_selector("pre.letter")
            looks.at(f"letters-shown-{what[:6]}")
            page.click(f"text=Draft the {what}")
            page.wait_for_selector("#said li")
        looks.at("letters-drafted")
        page.locator("td a", has_text="read, change, print").first.click()
        page.wait_for_selector("#words")
        looks.at("letter-to-all")
        page.goto(place + "/survey/hand-on")
        page.click("text=Write: Tables and archives")
        page.wait_for_selector(".release")
        looks.at("hand-on-written")
        page.goto(place + "/survey/log")
        with page.expect_navigation():
            page.locator(".log button").first.click()
        looks.at("log-taken-back")
        page.goto(place + "/survey/settings")
        unfold(page, "details")
        page.fill("[name='queue.both_views_gain']", "-3")
        page.click("text=Save these settings")
        page.wait_for_selector("[role=alert].wrong")
        looks.at("settings-wrong")
        page.goto(place + "/survey/people")
        unfold(page, "main details")
        looks.at("people-open")
        page.goto(place + "/survey/letters")
        page.locator(".menu summary").click()
        page.fill(".menu-body [name=name]", "Ada Mor")
        page.click(".menu-body .who-form button")
        page.wait_for_selector("text=Is it somebody the survey knows?")
        looks.at("near-name")
    assert looks.wrong == {}


@pytest.mark.parametrize(
    "path", ["/inbox/", "/determine/", "/jars/", "/sites/", "/survey/", "/survey/settings"]
)
def test_the_tab_key_reaches_everything_in_order_and_is_seen(
    evening: Path, window: Window, path: str
):
    """Focus order is the order of the page, nothing traps it, and it is always visible.

    WCAG 2.2: 2.1.2 (no keyboard trap), 2.4.3 (focus order), 2.4.7 (focus visible).
    """
    tabbable = """all => all.filter(n => n.checkVisibility() && !n.disabled && n.tabIndex >= 0
        && !n.closest('dialog') && !n.closest('details:not([open]) > :not(summary)'))
        .map((n, at) => { n.dataset.order = at; return n.tabIndex; })"""
    focused = """() => {
        const n = document.activeElement, s = getComputedStyle(n), r = n.getBoundingClientRect();
        const drawn = getComputedStyle(n.querySelector('rect') ?? n); // on a map: by its line
        const ring = (s.outlineStyle !== 'none' && parseFloat(s.outlineWidth) > 0)
            || (n instanceof SVGElement && parseFloat(drawn.strokeWidth) > 1);
        const inside = r.bottom > 0 && r.top < innerHeight && r.right > 0 && r.left < innerWidth;
        return [n === document.body ? -1 : Number(n.dataset.order), ring, inside, n.outerHTML];
    }"""
    with served(evening) as place:
        page = window()
        come_in_by_page(page, place, "/inbox/")
        page.goto(place + path)
        if path == "/determine/":
            page.wait_for_selector("#pictures img")
        able = page.locator(
            "a[href], button, input, select, textarea, summary, [tabindex]"
        ).evaluate_all(tabbable)
        assert set(able) == {0}
        page.evaluate("document.activeElement.blur()")
        page.mouse.click(1, 1)  # the sequence begins at the top again
        seen: list[int] = []
        for _ in range(2 * len(able)):
            page.keyboard.press("Tab")
            number, ring, inside, shown = page.evaluate(focused)
            if seen and number == seen[-1]:
                continue  # a field of several parts, as for a date
            if number < 0 or number in seen:  # the browser's own frame, or round again
                break
            seen.append(number)
            assert ring, shown
            assert inside, shown
        assert seen == sorted(seen)
        assert len(seen) >= len(able) - 1  # all but the link that skips the rooms
