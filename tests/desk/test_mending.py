"""Pictures mended in a real browser: boxes drawn, photos split off, sightings joined, as seen."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from desk.conftest import CHROMIUM, Window, come_in_by_page, served, until

from triage.pipeline import sitting
from triage.pipeline.standing import standing
from triage.store.connection import open_survey

pytestmark = [
    pytest.mark.system("chromium"),
    pytest.mark.skipif(not CHROMIUM, reason="the browser chromium is not installed"),
]

SHOWN = "#pictures .pane:not([hidden])"


@pytest.fixture
def page(evening: Path, window: Window) -> Iterator[Any]:
    """The determiner's room with a sighting of several photos on it."""
    with served(evening) as place:
        page = window()
        come_in_by_page(page, place, "/determine/")
        page.wait_for_selector("#pictures img")
        while page.locator("#pictures .pane").count() < 2:
            go_on(page)
        yield page


def go_on(page: Any) -> None:
    before = in_hand(page)
    page.keyboard.press("/")
    until(page, lambda: in_hand(page) != before)


def in_hand(page: Any) -> list[str]:
    """The photos of the sighting on the page, the best first."""
    return list(
        page.locator("#pictures .pane").evaluate_all("all => all.map(n => n.dataset.photo)")
    )


def said(page: Any, words: str) -> None:
    until(page, lambda: words in page.locator("#said").inner_text())


def sightings_of(folder: Path, photo: str) -> list[set[str]]:
    """The photos of each sighting that holds this one, without superseded ones."""
    with open_survey(folder) as survey:
        rows = [r for r in standing(survey).rows.values() if not r.superseded_by]
    found = [{digest for digest, _ in row.members} for row in rows]
    return [one for one in found if photo in one]


def test_a_box_is_where_it_was_drawn(page: Any, evening: Path):
    photo = in_hand(page)[0]
    page.keyboard.press("$")
    picture = page.locator(f"{SHOWN} img").first.bounding_box()
    drawn = (0.25, 0.3, 0.7, 0.8)
    x0, x1 = (picture["x"] + share * picture["width"] for share in drawn[::2])
    y0, y1 = (picture["y"] + share * picture["height"] for share in drawn[1::2])
    page.mouse.move(x0, y0)
    page.mouse.down()
    page.mouse.move((x0 + x1) / 2, (y0 + y1) / 2)
    page.mouse.move(x1, y1)
    seen = page.locator(f"{SHOWN} .box").first.bounding_box()
    assert [seen["x"], seen["y"]] == pytest.approx([x0, y0], abs=3)
    assert [seen["width"], seen["height"]] == pytest.approx([x1 - x0, y1 - y0], abs=6)
    page.mouse.up()
    said(page, "The box was corrected")
    kept = page.locator(f".pane[data-photo='{photo}'] .box").get_attribute("data-box")
    assert [float(one) for one in kept.split(",")] == pytest.approx(drawn, abs=0.02)


def test_a_box_is_moved_by_arrows_and_left_by_escape(page: Any):
    box = page.locator(f"{SHOWN} .box").first
    before = box.get_attribute("data-box")
    page.keyboard.press("$")
    left = box.bounding_box()["x"]
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Shift+ArrowLeft")
    assert box.bounding_box()["x"] > left
    page.keyboard.press("Escape")
    assert box.is_hidden()
    assert box.get_attribute("data-box") == before


def test_photos_are_split_off_after_seeing_both_heaps_and_put_back(page: Any, evening: Path):
    photos = in_hand(page)
    assert sightings_of(evening, photos[0]) == [set(photos)]
    page.keyboard.press("%")
    heaps = page.locator("#panel .shown")
    assert heaps.nth(1).locator("button").count() == 0
    page.keyboard.press("Enter")  # nothing was chosen: nothing happens
    assert page.locator("#panel").is_visible()
    page.keyboard.press("2")
    assert heaps.nth(0).locator("img").count() == len(photos) - 1
    assert heaps.nth(1).locator("img").count() == 1
    page.keyboard.press("Enter")
    said(page, "Split")
    assert sightings_of(evening, photos[1]) == [{photos[1]}]
    page.keyboard.press("<")
    said(page, "Took back")
    assert sightings_of(evening, photos[0]) == [set(photos)]


def test_all_photos_cannot_be_split_off(page: Any):
    photos = in_hand(page)
    page.keyboard.press("%")
    for number in range(len(photos)):
        page.keyboard.press(str(number + 1))
    page.keyboard.press("Enter")
    assert page.locator("#panel").is_visible()
    page.locator("#panel [data-end=leave]").click()
    assert page.locator("#panel").is_hidden()
    assert page.locator("#name").evaluate("n => n === document.activeElement")


def test_sightings_are_joined_after_seeing_them_as_one(page: Any, evening: Path):
    photos = in_hand(page)
    page.keyboard.press("%")
    page.keyboard.press("1")
    page.keyboard.press("Enter")
    said(page, "Split")
    one = in_hand(page)
    page.keyboard.press("&")
    page.wait_for_selector("#panel .shown button img")
    together = page.locator("#panel .shown").first
    assert together.locator("img").count() == len(one)
    other = set(photos) - set(one)
    wanted = page.locator("#panel [data-word]").evaluate_all(
        "(all, some) => all.findIndex(b => some.some(p => b.innerHTML.includes(p)))", list(other)
    )
    page.keyboard.press(str(wanted + 1))
    assert together.locator("img").count() == len(photos)
    page.keyboard.press("Enter")
    said(page, "One animal now")
    assert set(in_hand(page)) == set(photos)
    assert sightings_of(evening, photos[0]) == [set(photos)]


def test_two_animals_in_one_photo_are_two_sightings(page: Any, evening: Path):
    photo = in_hand(page)[0]
    page.keyboard.press("#")
    said(page, "Another animal of this photo")
    assert len(sightings_of(evening, photo)) == 2
    page.keyboard.press("<")
    said(page, "Took back")
    assert len(sightings_of(evening, photo)) == 1
    with open_survey(evening) as survey:
        assert sitting.my_last_action(survey, by="Ada Moor") is None


def test_a_photo_that_fills_more_of_a_high_window_stands_under_the_other(window: Window, page: Any):
    """The layout that shows the insects larger is taken, whichever that is."""
    sizes = {}
    for width, height in ((1500, 700), (900, 1400)):
        page.set_viewport_size({"width": width, "height": height})
        boxes = page.locator(f"{SHOWN} .port")
        until(page, lambda w=width: page.evaluate("innerWidth") == w)
        first, second = (boxes.nth(n).bounding_box() for n in (0, 1))
        sizes[width] = second["x"] > first["x"], second["y"] > first["y"]
    assert sizes == {1500: (True, False), 900: (False, True)}
