"""Pictures mended in a real browser: boxes drawn, photos split off, sightings joined, as seen."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from desk.conftest import CHROMIUM, Window, in_hand, served, to_determine, until
from records_made import begun_by

from triage.checklist import Checklist
from triage.pipeline.standing import standing
from triage.store import actions, evidence, photos
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
        to_determine(page, place)
        while page.locator("#pictures .pane").count() < 2:
            go_on(page)
        yield page


def go_on(page: Any) -> None:
    before = in_hand(page)
    page.keyboard.press("/")
    until(page, lambda: in_hand(page) != before)


def photos_in_hand(page: Any) -> list[str]:
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
    photo = photos_in_hand(page)[0]
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
    with open_survey(evening) as survey:  # what is seen in it may part it from its sighting
        measured = photos.load(survey, [photo])[photo].measurement
    assert measured is not None
    assert measured.box == pytest.approx(drawn, abs=0.02)


def test_a_box_that_parts_its_photo_says_so_shows_it_and_is_taken_back(page: Any, evening: Path):
    together = set(photos_in_hand(page))
    photo = photos_in_hand(page)[0]
    page.keyboard.press("$")
    picture = page.locator(f"{SHOWN} img").first.bounding_box()
    page.mouse.move(picture["x"] + 0.02 * picture["width"], picture["y"] + 0.02 * picture["height"])
    page.mouse.down()
    page.mouse.move(picture["x"] + 0.12 * picture["width"], picture["y"] + 0.1 * picture["height"])
    page.mouse.up()
    said(page, "this photo now stands as a sighting of its own")
    assert set(photos_in_hand(page)) == together - {photo}
    page.locator("#said button").first.click()
    until(page, lambda: photos_in_hand(page) == [photo])
    assert sightings_of(evening, photo) == [{photo}]
    page.locator("#said button").last.click()
    said(page, "Took back")
    assert sightings_of(evening, photo) == [together]


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
    photos = photos_in_hand(page)
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
    photos = photos_in_hand(page)
    page.keyboard.press("%")
    for number in range(len(photos)):
        page.keyboard.press(str(number + 1))
    page.keyboard.press("Enter")
    assert page.locator("#panel").is_visible()
    page.locator("#panel [data-end=leave]").click()
    assert page.locator("#panel").is_hidden()
    assert page.locator("#name").evaluate("n => n === document.activeElement")


def test_sightings_are_joined_after_seeing_them_as_one(page: Any, evening: Path):
    photos = photos_in_hand(page)
    page.keyboard.press("%")
    page.keyboard.press("1")
    page.keyboard.press("Enter")
    said(page, "Split")
    while not set(photos_in_hand(page)) <= set(photos):  # another sighting may stand first now
        go_on(page)
    one = photos_in_hand(page)
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
    assert set(photos_in_hand(page)) == set(photos)
    assert sightings_of(evening, photos[0]) == [set(photos)]


def test_two_animals_in_one_photo_are_two_sightings(page: Any, evening: Path):
    photo = photos_in_hand(page)[0]
    page.keyboard.press("#")
    said(page, "Another animal of this photo")
    assert len(sightings_of(evening, photo)) == 2
    page.keyboard.press("<")
    said(page, "Took back")
    assert len(sightings_of(evening, photo)) == 1
    with open_survey(evening) as survey:
        assert actions.newest_of(survey, by="Ada Moor") is None


def test_a_photo_that_fills_more_of_a_high_window_stands_under_the_other(window: Window, page: Any):
    """The layout that shows the insects larger is taken, whichever that is."""
    sizes = {}
    for width, height in ((1500, 700), (900, 1400)):
        page.set_viewport_size({"width": width, "height": height})
        boxes = page.locator(f"{SHOWN} .port")
        under = (
            "under" if height > width else "panes"
        )  # the room hears of its new size a little later
        page.wait_for_selector(f"#pictures .panes.{under}")
        until(page, lambda w=width: page.evaluate("innerWidth") == w)
        first, second = (boxes.nth(n).bounding_box() for n in (0, 1))
        sizes[width] = second["x"] > first["x"], second["y"] > first["y"]
    assert sizes == {1500: (True, False), 900: (False, True)}


def test_what_is_not_for_now_comes_again_only_when_nothing_else_waits(page: Any):
    page.reload()
    page.wait_for_selector("#pictures img")
    waiting = int(page.locator("#waiting").get_attribute("data-count"))
    seen = [in_hand(page)]
    for _ in range(5):
        go_on(page)
        seen.append(in_hand(page))
    assert len(set(seen)) == len(seen) < waiting
    assert int(page.locator("#waiting").get_attribute("data-count")) == waiting


def test_remarks_are_typed_between_the_name_and_the_recording(page: Any, evening: Path):
    for key in (*"gran", "1", ":"):
        page.keyboard.press(key)
    page.keyboard.type("worn; 2 wings torn <left>?")
    page.keyboard.press("Enter")
    assert page.locator("#statement").inner_text().endswith("worn; 2 wings torn <left>?")
    page.keyboard.press("Enter")
    said(page, "Recorded")
    with open_survey(evening) as survey:
        made = [d for ones in standing(survey).determinations.values() for d in ones]
    assert [one.remarks for one in made] == ["worn; 2 wings torn <left>?"]


def test_every_other_photo_is_one_digit_away(page: Any):
    while page.locator("#pictures .pane").count() < 3:
        go_on(page)
    photos = photos_in_hand(page)
    shown = "all => all.map(n => n.dataset.photo)"
    assert page.locator(SHOWN).evaluate_all(shown) == photos[:2]
    page.keyboard.press("3")
    assert set(page.locator(SHOWN).evaluate_all(shown)) == {photos[2], photos[1]}
    page.keyboard.press("ArrowRight")
    page.keyboard.press("1")
    assert set(page.locator(SHOWN).evaluate_all(shown)) == {photos[2], photos[0]}


def scale_and_place(page: Any) -> tuple[float, float]:
    matrix = "n => { const m = new DOMMatrix(getComputedStyle(n).transform); return [m.a, m.e]; }"
    found = page.locator(f"{SHOWN} .moved").first.evaluate(matrix)
    return found[0], found[1]


def test_a_picture_is_dragged_and_pinched(page: Any):
    page.keyboard.press("Home")
    for _ in range(4):
        page.keyboard.press("PageUp")
    scale, before = scale_and_place(page)
    box = page.locator(f"{SHOWN} .port").first.bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 40, y, steps=4)
    page.mouse.up()
    until(page, lambda: scale_and_place(page) == pytest.approx((scale, before + 40), abs=1))
    session = page.context.new_cdp_session(page)
    for kind, apart in (("touchStart", 40), ("touchMove", 60), ("touchMove", 80)):
        points = [{"x": x - apart, "y": y, "id": 1}, {"x": x + apart, "y": y, "id": 2}]
        session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
    session.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    until(page, lambda: scale_and_place(page)[0] == pytest.approx(2 * scale, rel=0.1))


def test_why_it_stands_here_is_said_also_after_mending(page: Any):
    assert page.locator("#facts details").count() == 1
    page.keyboard.press(";")
    page.keyboard.press("2")
    said(page, "The view was corrected")
    assert "best photo" in page.locator("#facts details").text_content()


def test_blind_hides_names_seasons_and_where_the_survey_says_so_the_date(page: Any, evening: Path):
    page.keyboard.press("@")
    page.wait_for_selector("#room[data-blind=yes]")
    page.wait_for_selector("#pictures img")
    hidden = page.locator("#facts").inner_text()
    assert "2026" in hidden
    assert "Place" not in hidden
    page.keyboard.type("aesh")
    assert page.locator("#candidates li").count() > 2
    assert page.locator("#candidates .season").count() == 0
    settings = evening / "survey.toml"
    text = settings.read_text(encoding="utf-8")
    settings.write_text(text.replace("blind_date = false", "blind_date = true"), encoding="utf-8")
    page.reload()
    page.wait_for_selector("#pictures img")
    assert "2026" not in page.locator("#room").evaluate("n => n.outerHTML")


def test_letters_mean_the_same_on_the_page_and_for_the_commands(page: Any, evening: Path):
    with open_survey(evening) as survey:
        checklist = evidence.checklist(survey)
    cases = sorted(typed_cases(checklist))
    meant = {typed: sorted(begun_by(checklist, typed)) for typed in cases}
    found = page.evaluate(
        """async (cases) => {
            const { Names } = await import('/static/determine/names.js');
            const names = new Names(JSON.parse(document.getElementById('room').dataset.names));
            const found = (typed) => names.begunBy(typed).map((one) => one.name);
            return Object.fromEntries(cases.map((typed) => [typed, found(typed).sort()]));
        }""",
        cases,
    )
    assert len(cases) > 300
    assert {typed: sorted(set(names)) for typed, names in found.items()} == meant


def test_a_name_that_two_taxa_bear_is_never_taken_for_one_of_them(page: Any):
    taken = page.evaluate(
        """async (typed) => {
            const { Names } = await import('/static/determine/names.js');
            const one = (name, ...vernaculars) => ({ name, synonyms: [], vernaculars });
            const names = new Names([
                one('Sympetrum vulgatum', 'Darter', 'Vagrant Darter'),
                one('Sympetrum striolatum', 'Darter'),
            ]);
            return typed.map((letters) => names.exactly(letters)?.name ?? '');
        }""",
        ["Darter", "vagrant darter", "SYMPETRUM striolatum", "Sympetrum"],
    )
    assert taken == ["", "Sympetrum vulgatum", "Sympetrum striolatum", ""]


def typed_cases(checklist: Checklist) -> set[str]:
    """Beginnings, words run together, accents, hyphens and nonsense, from every name listed."""
    made = {"", " ", "-", "?", "xyz", "İst", "ſ", "große", "an-im", "AN IM", "a'b", "a.b"}
    for taxon in checklist.names():
        for label in (taxon.scientific_name, *taxon.vernacular_name.split("|"), *taxon.synonyms):
            words = label.split()
            made |= {label, label[:4], label.upper(), label[1:5]}
            if len(words) > 1:
                made |= {
                    words[0][:2] + words[1][:2],
                    f"{words[0][:3]} {words[1][:3]}",
                    words[1][:4],
                }
                made |= {f"{words[1][:2]} {words[0][:2]}", words[0] + words[1][:1]}
    return made


def test_what_was_put_off_stays_so_when_the_page_is_loaded_again(page: Any):
    go_on(page)
    kept = in_hand(page)
    page.reload()
    until(page, lambda: in_hand(page) == kept)


def test_what_was_asked_for_is_said_until_something_is_done_about_it(page: Any):
    page.keyboard.press("Enter")
    said(page, "Type four letters of a name")
    page.keyboard.press("F9")
    until(page, lambda: page.locator("#said").inner_text() == "")


CUT = """all => all.filter(pane => {
    const [img, port] = ["img", ".port"].map(n => pane.querySelector(n).getBoundingClientRect());
    const [x0, y0, x1, y1] = pane.querySelector(".box").dataset.box.split(",").map(Number);
    const at = (x, y) => [img.left + x * img.width, img.top + y * img.height];
    const inside = ([x, y]) => x > port.left && x < port.right && y > port.top && y < port.bottom;
    return !inside(at(x0, y0)) || !inside(at(x1, y1));
}).length"""


def test_no_insect_is_cut_when_the_window_becomes_narrow(page: Any):
    assert page.locator(SHOWN).evaluate_all(CUT) == 0
    page.set_viewport_size({"width": 390, "height": 844})
    until(page, lambda: page.locator(SHOWN).evaluate_all(CUT) == 0)
