"""The inbox by keyboard alone: where the focus is after each step, and nothing typed is lost."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from desk.conftest import CHROMIUM, Window, come_in_by_page, served, to_need, until

pytestmark = [
    pytest.mark.system("chromium"),
    pytest.mark.skipif(not CHROMIUM, reason="the browser chromium is not installed"),
]


def focused(page: Any) -> str:
    """What has the focus: its name for a screen reader, or its words."""
    return str(
        page.evaluate(
            "(document.activeElement.labels?.[0] ?? document.activeElement).innerText.trim()"
        )
    )


def test_the_focus_is_at_the_decision_and_tab_goes_on_there(evening: Path, window: Window):
    with served(evening) as place:
        page = window()
        come_in_by_page(page, place, "/inbox/")
        first = page.locator("#decision h2").inner_text()
        assert focused(page) == first
        page.keyboard.press("Shift+Tab")
        assert page.evaluate("!document.activeElement.closest('#decision')")
        to_need(page, "no place")  # its need names no other mail, whose link would come first
        before = page.url
        page.keyboard.press("ArrowDown")
        until(page, lambda: page.url != before and page.locator("html[data-ready]").count() == 1)
        assert focused(page) == page.locator("#decision h2").inner_text()
        page.keyboard.press("ArrowUp")
        until(page, lambda: page.url == before and page.locator("html[data-ready]").count() == 1)
        assert focused(page) == page.locator("#decision h2").inner_text() == "No place"
        page.keyboard.press("Tab")
        assert page.evaluate("Boolean(document.activeElement.closest('#decision-form'))")


def test_what_the_desk_refuses_is_said_beside_the_field_and_nothing_is_lost(
    evening: Path, window: Window
):
    with served(evening) as place:
        page = window()
        come_in_by_page(page, place, "/inbox/")
        to_need(page, "no place")
        other = page.locator("#list li:not(.here) input").first
        other.check()
        before = page.url
        page.keyboard.press("s")
        page.keyboard.type("Heron")
        page.keyboard.press("Enter")
        page.wait_for_selector(".refused")
        said = page.locator(".refused").inner_text()
        assert "no site has that name" in said
        assert "Heron Mere" in said  # which may be meant
        assert page.url == before
        assert page.input_value("#site") == "Heron"
        assert focused(page).endswith("Site")
        assert other.is_checked()
        page.keyboard.type(" Mere")
        page.keyboard.press("Enter")
        until(page, lambda: page.locator("#decision h2").inner_text() != "No place")
        assert page.locator(".refused").count() == 0


def test_each_key_of_a_decision_is_for_a_button_that_is_complete_or_for_a_field(
    evening: Path, window: Window
):
    """A digit presses what needs no word, or goes to the field; what is folded away has none."""
    offered = """all => all.map(n => [n.dataset.digit, n.checkVisibility(),
        n.control?.id ?? '', Boolean(n.closest('.row')), n.tagName])"""
    with served(evening) as place:
        page = window()
        come_in_by_page(page, place, "/inbox/")
        addresses = page.locator("#list section a:first-of-type").evaluate_all(
            "all => all.map(n => n.href)"
        )
        fields = set()
        for address in addresses:
            page.goto(address)
            for digit, seen, field, beside, tag in page.locator("[data-digit]").evaluate_all(
                offered
            ):
                assert (tag == "LABEL") == beside == bool(field)
                if seen and field and field not in fields:
                    fields.add(field)
                    page.keyboard.press(digit)
                    assert page.evaluate("document.activeElement.id") == field
                    page.keyboard.press("Escape")
                elif not seen:
                    page.keyboard.press(digit)
                    assert page.locator("form[data-waits]").count() == 0
                    assert page.url == address
        assert fields >= {"site", "date", "photographer", "aside", "new-name"}


def test_a_refused_table_leaves_the_form_as_it_was_filled_in(evening: Path, window: Window):
    """WCAG 2.2, 3.3.7 (redundant entry), 3.3.3 (error suggestion), 4.1.3 (status messages)."""
    days = b"eventID,locationID,eventDate\nV901,LNT-01,05/08/2026\nV902,LNT-01,06/08/2026\n"
    with served(evening) as place:
        page = window()
        come_in_by_page(page, place, "/survey/tables")
        page.set_input_files(
            "[name=table]", {"name": "visits.csv", "mimeType": "text/csv", "buffer": days}
        )
        page.select_option("[name=twins]", "yes")
        page.click("text=Take the table in")
        said = page.get_by_role("alert").inner_text()
        assert "can be read in two ways" in said
        assert "“Days such as 03/08/2026”" in said
        assert page.input_value("[name=table]").endswith("visits.csv")
        assert page.input_value("[name=twins]") == "yes"
        page.select_option("[name=days]", "day")
        page.click("text=Take the table in")
        page.wait_for_selector(".done")
        assert "2 rows taken in" in focused(page)
        with page.expect_navigation():
            page.click("main a.button")
        page.goto(place + "/nowhere")
        assert page.get_by_role("link", name="To the inbox").count() == 1


def test_the_button_that_brings_in_mail_is_seen_to_have_the_focus(evening: Path, window: Window):
    """WCAG 2.2, 2.4.7: the ring is around the button whose field has the focus."""
    rings = """all => all.map(n => getComputedStyle(n).outlineStyle !== 'none')"""
    with served(evening) as place:
        page = window()
        come_in_by_page(page, place, "/inbox/")
        while page.evaluate("document.activeElement.id") != "files":
            page.keyboard.press("Shift+Tab")
        assert page.locator("#arrivals label.button").evaluate_all(rings) == [True, False]


def test_no_two_names_of_the_small_map_lie_on_each_other_and_none_is_left_out(
    evening: Path, window: Window
):
    boxes = """all => all.filter(n => n.checkVisibility({ visibilityProperty: true }))
        .map(n => n.getBoundingClientRect()).map(r => [r.left, r.right, r.top + 3, r.bottom - 3])"""
    with served(evening) as place:
        page = window(1366, 768)
        come_in_by_page(page, place, "/inbox/")
        to_need(page, "no place")
        shown = page.locator("#map .site text").evaluate_all(boxes)
        left, right = page.locator("#map").evaluate(
            "n => [n.getBoundingClientRect().left, n.getBoundingClientRect().right]"
        )
        words = page.locator("#map .site text").all_text_contents()
        told = str(page.locator("#numbered").text_content())
        names = page.locator("#map .site").evaluate_all("all => all.map(n => n.dataset.site)")
    assert len(shown) > 5
    assert all(left <= a and b <= right for a, b, _, _ in shown)
    for at, (a, b, c, d) in enumerate(shown):
        for other in shown[at + 1 :]:
            assert b <= other[0] or other[1] <= a or d <= other[2] or other[3] <= c
    assert all(name in words or name in told for name in names)
