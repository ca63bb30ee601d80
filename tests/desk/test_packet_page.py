"""A packet opened from disk in a real browser, answered by keys alone, and read back."""

from __future__ import annotations

import csv
import io
import re
import zipfile
from pathlib import Path
from typing import Any

import pytest
from desk.conftest import CHROMIUM, Window, photographed, until
from desk.desks import come_in, desk_of, ended, post
from desk.looking import Looks
from tests_support import NOW

from triage.desk import packet_page
from triage.pipeline import packet, standing
from triage.pipeline.determine import determine_from_table
from triage.store.connection import open_survey

browser = pytest.mark.skipif(not CHROMIUM, reason="needs a browser")


@pytest.fixture
def unpacked(evening: Path, tmp_path: Path) -> Path:
    """The page of a packet as its determiner has it on disk, far from the survey."""
    with open_survey(evening) as survey:
        made = packet.make(
            survey, tmp_path / "p.zip", whom="Ada Moor", count=12, megabytes=20,
            page=packet_page.page, by="coordinator", now=NOW, new=True,
        )  # fmt: skip
    with zipfile.ZipFile(made.path) as archive:
        archive.extractall(tmp_path / "far away")
    [page] = (tmp_path / "far away").glob("*.html")
    return page


def opened(window: Window, page: Path, **options: Any) -> Any:
    found = window(**options)
    found.goto(page.as_uri())
    found.wait_for_selector("html[data-ready]")
    return found


def waiting(page: Any) -> int:
    return int(page.get_attribute("#waiting", "data-count"))


def answer(page: Any, letters: str) -> None:
    """Four letters, the digit of the first name, Enter."""
    left = waiting(page)
    page.keyboard.type(letters)
    page.keyboard.press("1")
    page.keyboard.press("Enter")
    until(page, lambda: waiting(page) == left - 1)


def saved(page: Any, to: Path) -> Path:
    with page.expect_download() as download:
        page.keyboard.press("+")
    download.value.save_as(to)
    return to


@browser
def test_ten_answers_by_keys_alone_come_back_as_determinations(
    unpacked: Path, evening: Path, window: Window, tmp_path: Path
):
    page = opened(window, unpacked)
    photographed(page, "packet")
    for _ in range(10):
        answer(page, "aesh")
    table = saved(page, tmp_path / "answers.csv")
    with open_survey(evening) as survey:
        outcome = determine_from_table(survey, table, by="", now=NOW)
        assert (outcome.new, outcome.refused) == (10, ())
        named = [one for one in standing.sightings(survey) if one.scientific_name]
        assert len(named) == 10
        said = standing.standing(survey).determinations
        assert len({one.identified_by for ones in said.values() for one in ones}) == 1
        again = determine_from_table(survey, table, by="", now=NOW)
        assert (again.new, again.accepted, again.refused) == (0, 10, ())


@browser
def test_the_keys_of_the_room_say_the_same_in_a_packet(
    unpacked: Path, window: Window, tmp_path: Path
):
    page = opened(window, unpacked)
    page.keyboard.type("calo")
    for key in ("1", "F3", "F4", "F8", ":"):
        page.keyboard.press(key)
    page.keyboard.type('wing, "dark"')
    page.keyboard.press("Enter")
    page.keyboard.press("Enter")
    until(page, lambda: "Recorded" in page.inner_text("#said"))
    page.keyboard.press("F9")
    page.keyboard.press("1")
    page.keyboard.press("Enter")
    until(page, lambda: "blurred" in page.inner_text("#said"))
    with saved(page, tmp_path / "answers.csv").open(encoding="utf-8-sig", newline="") as file:
        first, second = csv.DictReader(file)
    assert first["scientificName"].startswith("Calopteryx")
    assert (first["identificationQualifier"], first["sex"]) == ("cf.", "female")
    assert (first["secondOpinion"], first["identificationRemarks"]) == ("yes", 'wing, "dark"')
    assert second["cannotTell"] == "the photos are blurred on the insect"
    assert re.fullmatch(r"packet-[0-9a-f]{8}-01", first["sighting"])


@browser
def test_what_was_answered_is_there_when_the_page_is_opened_again(unpacked: Path, window: Window):
    page = opened(window, unpacked)
    before = waiting(page)
    answer(page, "aesh")
    second = page.get_attribute("#pictures .pane", "data-photo")
    page.reload()
    page.wait_for_selector("html[data-ready]")
    assert waiting(page) == before - 1
    assert page.get_attribute("#pictures .pane", "data-photo") == second


@browser
def test_an_answer_is_taken_back_and_brought_back(unpacked: Path, window: Window):
    page = opened(window, unpacked)
    first, before = page.get_attribute("#pictures .pane", "data-photo"), waiting(page)
    answer(page, "aesh")
    page.keyboard.press("<")
    until(page, lambda: waiting(page) == before)
    until(page, lambda: page.get_attribute("#pictures .pane", "data-photo") == first)
    until(page, lambda: bool(page.input_value("#name")))
    page.keyboard.press(">")
    until(page, lambda: waiting(page) == before - 1)
    until(page, lambda: page.get_attribute("#pictures .pane", "data-photo") != first)


@browser
def test_a_browser_that_keeps_nothing_is_said_and_the_page_works(unpacked: Path, window: Window):
    page = window()
    page.add_init_script(
        "Object.defineProperty(window, 'localStorage', { get() { throw new Error('no'); } })"
    )
    page.goto(unpacked.as_uri())
    page.wait_for_selector("html[data-ready]")
    assert page.is_visible("#gone")
    answer(page, "aesh")


@browser
def test_what_only_the_desk_can_do_is_said(unpacked: Path, window: Window):
    page = opened(window, unpacked)
    page.keyboard.press("#")
    assert "remarks" in page.inner_text("#said")


@browser
def test_a_packet_asks_nothing_of_any_network(unpacked: Path, window: Window):
    page = window()
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(unpacked.as_uri())
    page.wait_for_selector("html[data-ready]")
    answer(page, "aesh")
    assert [one for one in asked if not one.startswith(("file:", "data:", "blob:"))] == []


@browser
@pytest.mark.parametrize(("width", "theme"), [(1440, "dark"), (390, "light")])
def test_the_packet_in_both_themes_has_no_fault_that_axe_finds(
    unpacked: Path, window: Window, width: int, theme: str
):
    looks = Looks(opened(window, unpacked, width=width, theme=theme), f"{width}-{theme}")
    looks.at("packet")
    looks.page.keyboard.press("F9")
    looks.at("packet-cannot")
    looks.page.keyboard.press("Escape")
    looks.page.keyboard.press("?")
    looks.at("packet-keys")
    assert looks.wrong == {}


def test_a_bundle_holds_each_module_once_after_what_it_needs():
    script = packet_page.bundle(packet_page.START)
    order = re.findall(r'^modules\["([^"]+)"\] =', script, re.MULTILINE)
    assert len(order) == len(set(order))
    for name in order:
        start = script.index(f'modules["{name}"] = ')
        for needed in re.findall(r'= modules\["([^"]+)"\];', script[start:].split("})();")[0]):
            assert order.index(needed) < order.index(name)
    assert not {"desk.js", "determine/ahead.js", "determine/outbox.js"} & set(order)
    assert "fetch(" not in script


def test_a_module_of_an_unknown_form_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    (tmp_path / "odd.js").write_text("export default 1;\n", encoding="utf-8")
    monkeypatch.setattr(packet_page, "STATIC", tmp_path)
    with pytest.raises(ValueError, match=r"odd\.js"):
        packet_page.bundle(("odd.js",))


def test_the_desk_packs_for_a_person_of_the_survey_and_sends_the_file(walked: Path):
    client = come_in(desk_of(walked))
    page = client.get("/survey/hand-on").get_data(as_text=True)
    assert "A packet for a determiner far away" in page
    answer = post(client, "/survey/packet", {"whom": "Ida Kvist", "count": "2"})
    assert answer.status_code == 302
    assert "2 sightings" in " ".join(ended(client).said)
    page = client.get("/survey/hand-on").get_data(as_text=True)
    [link] = re.findall(r'href="(/survey/packet/[^"]+\.zip)"', page)
    sent = client.get(link)
    assert sent.mimetype == "application/zip"
    assert sent.get_data()[:2] == b"PK"
    sent.close()


@pytest.mark.parametrize(
    ("whom", "count"), [("Nobody Known", "2"), ("Ida Kvist", "0"), ("Ida Kvist", "x")]
)
def test_the_desk_packs_nothing_for_a_stranger_or_of_no_size(walked: Path, whom: str, count: str):
    client = come_in(desk_of(walked))
    assert post(client, "/survey/packet", {"whom": whom, "count": count}).status_code == 400
    assert client.get("/survey/packet/..%2fsurvey.zip").status_code == 404
    assert not (walked / "packets").exists()


def test_a_table_of_answers_dropped_on_the_desk_is_taken_in_and_conflicts_are_told(
    walked: Path, tmp_path: Path
):
    with open_survey(walked) as survey:
        made = packet.make(
            survey, tmp_path / "p.zip", whom="Ada Moor", count=1, megabytes=5,
            page=packet_page.page, by="coordinator", now=NOW, new=True,
        )  # fmt: skip
    key = f"packet-{made.packet}-01"
    text = f"\ufeffsighting,scientificName\r\n{key},Gomphidae\r\npacket-00000000-01,Gomphidae\r\n"
    wide = text.removeprefix("\ufeff").replace(",", "\t")  # as a spreadsheet's "Unicode text"
    client = come_in(desk_of(walked))
    book = {"files": (io.BytesIO(b"PK\x03\x04"), "answers.xlsx")}
    assert post(client, "/arrivals/drop", book).status_code == 200
    assert "answers.xlsx is a spreadsheet's workbook" in " ".join(ended(client).said)
    for told, kept, name in (
        ("1 new, 0 changed, 0 unchanged, 1 refused", text.encode(), "answers.csv"),
        ("0 new, 0 changed, 1 unchanged, 1 refused", wide.encode("utf-16"), "answers.txt"),
    ):
        files = {"files": (io.BytesIO(kept), name)}
        assert post(client, "/arrivals/drop", files).status_code == 200
        said = " ".join(ended(client).said)
        assert f"{name}: {told}" in said
        assert "line 3: packet-00000000-01" in said
    with open_survey(walked) as survey:
        [one] = [one for one in standing.sightings(survey) if one.scientific_name]
    assert one.scientific_name == "Gomphidae"
