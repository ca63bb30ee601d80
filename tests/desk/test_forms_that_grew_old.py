"""What was typed into a form is there again, whatever it was refused for: by a real browser."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from desk.conftest import CHROMIUM, Window, come_in_by_page, photographed, served, to_need

from triage.store.connection import open_survey
from triage.store.settings import Settings

pytestmark = [
    pytest.mark.system("chromium"),
    pytest.mark.skipif(not CHROMIUM, reason="the browser chromium is not installed"),
]


def loses_cookies(page: Any, *, name: str) -> None:
    """The browser forgets a cookie of the desk: it was closed and opened again, or cleared."""
    for one in page.context.cookies():
        if one["name"].endswith(f"_{name}"):
            page.context.clear_cookies(name=one["name"])


def test_a_page_older_than_its_browsers_token_is_taken_all_the_same(evening: Path, window: Window):
    with served(evening) as place:
        page = window()
        come_in_by_page(page, place, "/inbox/")
        to_need(page, "no place")
        loses_cookies(page, name="token")
        page.fill("#site", "Heron Mere")
        page.keyboard.press("Enter")
        page.wait_for_selector("text=Your last: site Heron Mere")


def test_words_for_a_message_outlive_that_nobody_was_known_at_the_desk(
    evening: Path, window: Window
):
    with served(evening) as place:
        page = window()
        come_in_by_page(page, place, "/inbox/")
        to_need(page, "no place")
        loses_cookies(page, name="who")
        page.locator("summary", has_text="Other decisions").click()
        page.fill("#aside", "a drawing of a child's, not a photo")
        page.locator("button[value=aside]").last.click()
        refused = page.locator("#decision .refused")
        refused.wait_for()
        assert "nobody has said who is at the desk" in refused.inner_text()
        assert page.input_value("#aside") == "a drawing of a child's, not a photo"
        page.locator(".menu summary").click()
        page.fill(".menu input[name=name]", "Ada Moor")
        page.locator(".menu .who-form button").click()
        page.locator(".menu summary", has_text="Ada Moor").wait_for()
        page.wait_for_selector("text=What you typed is here again")
        photographed(page, "typed words put back")
        assert page.locator("#aside").is_visible()
        assert page.input_value("#aside") == "a drawing of a child's, not a photo"
        page.locator("button[value=aside]").last.click()
        page.wait_for_selector("text=Your last: set aside: a drawing of a child's")


def test_settings_that_another_changed_meanwhile_keep_what_was_typed(evening: Path, window: Window):
    with served(evening) as place:
        one, other = window(), window()
        for page, name in ((one, "Ada Moor"), (other, "Ben Holm")):
            come_in_by_page(page, place, "/inbox/", name)
            page.goto(f"{place}/survey/settings")
        one.fill("#survey-title", "Linnet Waters")
        one.click("text=Save these settings")
        one.wait_for_selector("text=Saved. It counts from now on.")
        other.fill("#survey-contact", "Bea Holm")
        other.click("text=Save these settings")
        other.wait_for_selector(".refused:has-text('changed by somebody else meanwhile')")
        assert other.input_value("#survey-contact") == "Bea Holm"
        other.reload()
        other.wait_for_selector("text=What you typed is here again")
        assert other.input_value("#survey-contact") == "Bea Holm"
        assert other.input_value("#survey-title") == "Linnet Waters"  # as it is now
        other.click("text=Save these settings")
        other.wait_for_selector("text=Saved. It counts from now on.")
        other.reload()
        assert other.locator("text=What you typed is here again").count() == 0
    with open_survey(evening) as survey:
        held: Settings = survey.settings
        assert (held.survey.title, held.survey.contact) == ("Linnet Waters", "Bea Holm")


NAMES = (
    "Anax imperator",
    "Aeshna cyanea",
    "Aeshna mixta",
    "Libellula depressa",
    "Sympetrum vulgatum",
)


def test_a_label_with_lines_added_and_a_slip_is_kept_whole(evening: Path, window: Window):
    with served(evening) as place:
        page = window()
        come_in_by_page(page, place, "/inbox/")
        page.goto(f"{place}/jars/")
        page.fill("#site", "Heron Mere")
        page.fill("#day", "2026-06-13")
        page.click("text=More lines")
        assert page.evaluate("document.activeElement.name") == "name-4"
        for line, name in enumerate(NAMES):
            page.fill(f"[name=name-{line}]", name)
            page.fill(f"[name=count-{line}]", "2" if line else "some")
        page.locator("button.first").first.click()
        page.wait_for_selector("[aria-invalid]")
        loses_cookies(page, name="who")
        page.locator("button.first").first.click()
        page.wait_for_selector(".refused")
        page.reload()
        page.fill("main input[name=name]", "Ada Moor")
        page.click("main .who-form button")
        page.wait_for_selector("text=What you typed is here again")
        assert page.input_value("#site") == "Heron Mere"
        assert page.input_value("#day") == "2026-06-13"
        shown = [page.locator(f"[name=name-{line}]").is_visible() for line in range(6)]
        assert shown == [*[True] * 5, False]
        assert [page.input_value(f"[name=name-{line}]") for line in range(5)] == [*NAMES]
        page.fill("[name=count-0]", "3")
        page.locator("button.first").first.click()
        page.wait_for_selector("#recorded")
        page.reload()
        assert page.locator("text=nothing of it is recorded yet").count() == 0


def test_a_letter_whose_draft_is_gone_shows_the_words_again(evening: Path, window: Window):
    with served(evening) as place:
        page = window()
        come_in_by_page(page, place, "/inbox/")
        to_need(page, "no place")
        page.locator("#decision button", has_text="Ask which water").click()
        page.wait_for_selector("#words")
        page.fill("#words", "Dear Sam,\nwhich water was it?")
        for draft in (evening / "replies").glob("*.eml"):
            draft.unlink()
        page.click("text=Save these words")
        page.wait_for_selector(".refused:has-text('no drafted letter')")
        page.reload()
        page.wait_for_selector("text=This page has no field now for")
        photographed(page, "typed words without a field")
        assert "which water was it?" in page.locator("main").inner_text()
