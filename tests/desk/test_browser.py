"""Each room walked in a real browser as its user does: keys counted, nothing half done lost."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from desk.conftest import (
    CHROMIUM,
    Window,
    come_in_by_page,
    in_hand,
    own_port,
    served,
    started,
    to_determine,
    until,
)
from tests_support import DEMO

from triage.pipeline.message_page import open_messages
from triage.pipeline.standing import standing
from triage.store import actions
from triage.store.connection import create_survey, open_survey

pytestmark = [
    pytest.mark.system("chromium"),
    pytest.mark.skipif(not CHROMIUM, reason="the browser chromium is not installed"),
]

LETTERS = ("aesh", "lest", "symp", "libe", "coen", "isch", "anim", "orth", "gomp", "calo")


class Keys:
    """A keyboard that counts."""

    def __init__(self, page: Any) -> None:
        self.page, self.count = page, 0

    def press(self, *keys: str) -> None:
        for key in keys:
            self.page.keyboard.press(key)
            self.count += 1


def wait_for_another(page: Any, before: str) -> None:
    until(page, lambda: in_hand(page) != before)


def wait_until_sent(page: Any) -> None:
    until(
        page, lambda: page.evaluate("localStorage.getItem('determinations on their way')") == "[]"
    )


def wait_for_words(page: Any, words: str) -> None:
    until(page, lambda: page.locator("#said").inner_text().startswith(words))


def test_ten_determinations_take_sixty_keys_and_no_mouse(evening: Path, window: Window):
    with served(evening) as place:
        page = window()
        to_determine(page, place)
        keys = Keys(page)
        for letters in LETTERS:
            before = in_hand(page)
            keys.press(*letters, "1", "Enter")
            wait_for_another(page, before)
        wait_until_sent(page)
    assert keys.count <= 60
    with open_survey(evening) as survey:
        made = [d for ones in standing(survey).determinations.values() for d in ones]
    assert len(made) == 10
    assert {d.outcome for d in made} == {"determined"}


def test_names_are_found_by_their_beginnings_run_together_and_in_every_language(
    evening: Path, window: Window
):
    with served(evening) as place:
        page = window()
        to_determine(page, place)
        for typed, name in (
            ("anim", "Anax imperator"),
            ("aesh g", "Aeshna grandis"),
            ("brow", "Aeshna grandis"),
        ):
            page.fill("#name", typed)
            assert name in page.locator("#candidates").inner_text()
            assert page.locator("#candidates [aria-selected=true]").count() == 0  # never pre-chosen
        page.fill("#name", "")
        page.keyboard.press("Enter")
        assert "Type four letters" in page.locator("#said").inner_text()


def test_a_name_is_taken_to_its_genus_with_doubt_and_sex(evening: Path, window: Window):
    with served(evening) as place:
        page = window()
        to_determine(page, place)
        before = in_hand(page)
        for key in (*"gran", "1", "F2", "F3", "F4", "F7", "3"):
            page.keyboard.press(key)
        said = page.locator("#statement").inner_text()
        assert said == "cf. Aeshna · only to genus · female · ovipositing"
        page.keyboard.press("Enter")
        wait_for_another(page, before)
        wait_for_words(page, "Recorded")
    with open_survey(evening) as survey:
        [made] = [d for ones in standing(survey).determinations.values() for d in ones]
    assert (made.scientific_name, made.taxon_rank, made.qualifier) == ("Aeshna", "genus", "cf.")
    assert (made.sex, made.behavior) == ("female", "ovipositing")


def test_what_cannot_be_told_takes_three_keys(evening: Path, window: Window):
    with served(evening) as place:
        page = window()
        to_determine(page, place)
        before, keys = in_hand(page), Keys(page)
        keys.press("F9", "2", "Enter")
        wait_for_another(page, before)
        wait_for_words(page, "Recorded")
    assert keys.count == 3
    with open_survey(evening) as survey:
        assert "undeterminable" in {one.state for one in standing(survey).accepted.values()}


def test_my_last_determination_is_taken_back_and_brought_back(evening: Path, window: Window):
    with served(evening) as place:
        page = window()
        to_determine(page, place)
        first = in_hand(page)
        for key in (*"aesh", "1", "Enter"):
            page.keyboard.press(key)
        wait_for_another(page, first)
        page.keyboard.press("<")
        wait_for_words(page, "Took back")
        until(page, lambda: in_hand(page) == first)
        with open_survey(evening) as survey:
            assert actions.newest_of(survey, by="Ada Moor") is None
        page.keyboard.press(">")
        wait_for_another(page, first)
        wait_for_words(page, "Brought back")
    with open_survey(evening) as survey:
        assert sum(len(ones) for ones in standing(survey).determinations.values()) == 1


def test_a_sighting_brought_back_does_not_come_a_second_time(evening: Path, window: Window):
    """The desk was asked for more before the undo, and answers with the same one after it."""
    with served(evening) as place:
        page = window()
        to_determine(page, place)
        shelf = page.evaluate(
            """async () => {
                const { Ahead } = await import('/static/determine/ahead.js');
                const made = (sighting) => {
                    const article = document.createElement('article');
                    article.dataset.sighting = sighting;
                    return article;
                };
                const ahead = new Ahead(document.createElement('div'), { sightings: () => [] });
                let answer;
                const waits = new Promise((done) => { answer = done; });
                const answers = [made('first'), made('third'), null];
                ahead.fetch = async (path) => {
                    if (!path.includes('/next')) return made('first');
                    await waits;
                    return answers.shift();
                };
                ahead.current = made('second');
                const filling = ahead.fill();
                await ahead.again('first', { keep: true });
                answer();
                await filling;
                return [ahead.current, ...ahead.shelf.children].map((one) => one.dataset.sighting);
            }"""
        )
    assert shelf == ["first", "second", "third"]


def test_both_pictures_are_zoomed_moved_and_lit_for_looking(evening: Path, window: Window):
    scale = "n => new DOMMatrix(getComputedStyle(n).transform).a"
    with served(evening) as place:
        page = window()
        to_determine(page, place)
        panes = page.locator("#pictures .pane:not([hidden]) .moved")
        for _ in range(3):
            page.keyboard.press("PageUp")
        assert all(panes.nth(n).evaluate(scale) > 1.9 for n in range(panes.count()))
        seen = page.locator("#pictures .pane:not([hidden]) img")
        until(
            page,
            lambda: all(
                seen.nth(n).evaluate("n => n.src").endswith("/whole") for n in range(seen.count())
            ),
        )
        page.keyboard.press("Home")
        assert all(panes.nth(n).evaluate(scale) == 1 for n in range(panes.count()))
        page.mouse.move(400, 400)
        page.mouse.wheel(0, -100)
        until(page, lambda: panes.first.evaluate(scale) == 1.25)
        page.keyboard.press(")")
        assert "url" in page.locator("#pictures img").first.evaluate(
            "n => getComputedStyle(n).filter"
        )
        page.keyboard.press("*")
        assert (
            page.locator("#pictures img").first.evaluate("n => getComputedStyle(n).filter")
            == "none"
        )


def test_nothing_is_lost_when_the_desk_goes_and_comes_back(evening: Path, window: Window):
    port, page = own_port(), window()
    with started(evening, port) as place:
        to_determine(page, place)
        until(page, lambda: page.locator("#ahead article").count() == 3)
        first = in_hand(page)
    for key in (*"aesh", "1", "Enter"):
        page.keyboard.press(key)
    wait_for_another(page, first)  # the next picture was loaded ahead
    page.keyboard.type("lest")
    page.wait_for_selector("#gone:not([hidden])")
    with started(evening, port) as place:
        page.wait_for_selector("#gone", state="hidden")
        wait_until_sent(page)
        assert page.input_value("#name") == "lest"
        page.reload()
        page.wait_for_selector("#pictures img")
        assert page.input_value("#name") == "lest"  # also after the page was loaded again
    with open_survey(evening) as survey:
        assert sum(len(ones) for ones in standing(survey).determinations.values()) == 1


def test_what_a_full_disk_refused_is_sent_again_until_it_is_recorded(evening: Path, window: Window):
    refused: list[str] = []

    def no_room(route: Any) -> None:
        refused.append(route.request.url)
        if len(refused) < 3:
            route.fulfill(status=503, body="{}")
        else:
            route.continue_()

    with served(evening) as place:
        page = window()
        page.route("**/determine/record", no_room)
        to_determine(page, place)
        first = in_hand(page)
        for key in (*"aesh", "1", "Enter"):
            page.keyboard.press(key)
        wait_for_another(page, first)
        until(page, lambda: len(refused) == 3)
        wait_until_sent(page)
        page.wait_for_selector("#gone", state="hidden")
    with open_survey(evening) as survey:
        assert sum(len(ones) for ones in standing(survey).determinations.values()) == 1


def test_the_inbox_is_cleared_in_three_keys_a_message_and_no_identifier(
    evening: Path, window: Window
):
    with served(evening) as place:
        page = window()
        come_in_by_page(page, place, "/inbox/")
        decided, taken = 0, []
        while page.locator("#decision").count():
            keys, message = 0, where(page)
            need = page.locator("#decision h2").inner_text()
            while where(page) == message and keys < 3:
                keys += settle_one(page, need)
            if "/letter/" in where(page):
                page.evaluate("document.documentElement.dataset.old = 'yes'")
                page.click("text=On to the next message")
                wait_for_another_page(page)
                keys += 1
            assert keys <= 3, need
            assert where(page) != message, need
            decided += 1
            taken.append(keys)
        assert decided > 15
        assert sum(taken) / decided <= 2  # of them all; none took more than three
        assert "Every message is settled" in page.locator("main h1").first.inner_text()
    with open_survey(evening) as survey:
        assert [g.need for g in open_messages(survey)] in ([], ["waiting"])


def where(page: Any) -> str:
    return str(page.evaluate("location.pathname"))


def settle_one(page: Any, need: str) -> int:
    """One decision as a coordinator takes it; returns how many keys or clicks it took."""
    page.evaluate("document.documentElement.dataset.old = 'yes'")
    taken = 1
    if need == "No place" and page.locator("#decision .needs li").count() == 1:
        page.locator("#map [data-site='Heron Mere'] .dot").click()
        page.keyboard.press("Enter")
        taken = 2
    elif need == "No place":  # no date either: the sender is asked
        page.locator("#decision button", has_text="Ask which water").click()
    elif need.startswith("Perhaps a home"):  # the first key wants the name of a private water
        page.locator("#decision button", has_text="nobody's home").click()
    else:
        page.keyboard.press("1")
    wait_for_another_page(page)
    return taken


def wait_for_another_page(page: Any) -> None:
    """Until the answer to a decision is there, whichever page it is."""
    # a page on its way has its address before it has any element
    until(page, lambda: page.locator("html:not([data-old]) > body").count() == 1)
    page.wait_for_load_state("domcontentloaded")
    if "/letter/" not in where(page):
        page.wait_for_selector("html[data-ready]")


def test_mail_dropped_on_an_empty_survey_is_received_and_examined(tmp_path: Path, window: Window):
    create_survey(tmp_path / "survey")
    photo = next(
        p for p in sorted((DEMO / "photos").iterdir()) if p.suffix.lower() in (".jpg", ".jpeg")
    )
    with served(tmp_path / "survey") as place:
        page = window()
        come_in_by_page(page, place, "/inbox/")
        assert "No mail yet" in page.locator("main h1").first.inner_text()
        page.set_input_files("#files", [photo])
        page.wait_for_selector("#arrived:has-text('1 photo examined')")
        assert "No mail yet" not in page.locator("main").inner_text()


def test_the_keys_are_listed_on_a_question_mark(evening: Path, window: Window):
    with served(evening) as place:
        page = window()
        to_determine(page, place)
        page.keyboard.press("?")
        listed = page.locator("#keys dt").all_inner_texts()
        assert {"Enter", "F9", "PgUp", "#", "?"} <= set(listed)
        page.keyboard.press("Escape")
        until(page, lambda: not page.locator("#keys").is_visible())
        buttons = page.locator("[data-act] kbd").all_text_contents()
        assert set(buttons) <= set(listed)  # every key on a button stands in the list
