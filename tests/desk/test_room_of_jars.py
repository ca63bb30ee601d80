"""The room of jars: labels typed, tables taken in, each taken back from the page."""

from __future__ import annotations

import io
import re
from pathlib import Path
from typing import Any

import pytest
from desk.conftest import CHROMIUM, Window, come_in_by_page, own_port, served, started
from desk.desks import PLACE, come_in, desk_of, post, token_of

from triage.desk import jars as jars_room
from triage.pipeline import jars
from triage.store.connection import create_survey, open_survey

LABEL: dict[str, Any] = {
    "site": "Heron Mere",
    "day": "2026-06-13",
    "collector": "Nell Reedwater",
    "number": "EX-0900",
    "name-0": "Anax imperator",
    "count-0": "9",
}


def recorded(folder: Path) -> int:
    with open_survey(folder) as survey:
        return jars.page(survey, "Nell Reedwater")[1]


def test_a_typed_label_is_recorded_and_taken_back(walked: Path):
    client = come_in(desk_of(walked))
    answer = post(client, "/jars/", LABEL)
    assert answer.status_code == 302
    page = client.get(answer.location).get_data(as_text=True)
    assert "Recorded." in page
    assert "9 × <i>Anax imperator</i>" in page
    number = re.search(r'name="number" value="(\d+)"', page)
    assert number is not None
    back = post(client, "/jars/undo", {"number": number.group(1)})
    assert recorded(walked) == 0
    assert "Bring it back" in client.get(back.location).get_data(as_text=True)
    again = parameter(back.location, "undone")
    post(client, "/jars/undo", {"number": again})
    assert recorded(walked) == 1


def parameter(address: str, name: str) -> str:
    found = re.search(rf"[?&]{name}=([^&]+)", address)
    assert found is not None
    return found.group(1)


def test_near_names_are_offered_and_one_is_taken_by_a_button(walked: Path):
    client = come_in(desk_of(walked))
    wrong = {**LABEL, "name-0": "Anax imperatr", "site": "Heron Meer"}
    answer = post(client, "/jars/", wrong)
    assert answer.status_code == 422
    page = answer.get_data(as_text=True)
    assert 'value="use:name-0:Anax imperator"' in page
    assert 'value="use:site:Heron Mere"' in page
    taken = post(client, "/jars/", {**wrong, "do": "use:name-0:Anax imperator"})
    assert 'name="name-0" value="Anax imperator"' in taken.get_data(as_text=True)
    assert recorded(walked) == 0


def test_a_label_has_room_for_many_taxa_and_shows_the_lines_in_use(walked: Path):
    client = come_in(desk_of(walked))
    typed = {**LABEL, "name-6": "Aeshna mixta", "count-6": "2", "site": "Heron Meer"}
    page = post(client, "/jars/", {**typed, "do": "use:site:Heron Mere"}).get_data(as_text=True)
    rows = re.findall(r"<tr( hidden)?>\s*<td data-title=\"taxon, as written\">", page)
    assert [not hidden for hidden in rows] == [True] * 7 + [False] * (jars_room.MOST_LINES - 7)
    assert 'name="name-6" value="Aeshna mixta"' in page


def test_a_lot_is_named_anew_on_its_page(walked: Path):
    client = come_in(desk_of(walked))
    post(client, "/jars/", LABEL)
    lot = "/jars/lot?number=EX-0900"
    said = {"number": "EX-0900", "name": "Aeshna cf. mixta", "identified_by": "Ida Kvist"}
    assert post(client, "/jars/lot", said, page=lot).status_code == 302
    page = client.get("/jars/lot?number=EX-0900").get_data(as_text=True)
    assert page.index("Anax imperator</td>") < page.index("Aeshna cf. mixta</td>")
    wrong = post(client, "/jars/lot", {**said, "name": "Aesna mixta"}, page=lot)
    assert wrong.status_code == 422
    assert 'name="use" value="Aeshna mixta"' in wrong.get_data(as_text=True)
    assert client.get("/jars/lot?number=none").status_code == 404


def take_in(
    client: Any, content: bytes, name: str = "lots.csv", kind: str = "lots", **more: str
) -> Any:
    data = {"kind": kind, "table": (io.BytesIO(content), name), "back": "/jars/", **more}
    headers = {"Origin": PLACE, "X-Desk-Token": token_of(client)}
    return client.post("/tables/take-in", data=data, headers=headers)


def test_a_jar_whose_visit_is_not_on_the_list_is_found_all_the_same(walked: Path):
    client = come_in(desk_of(walked))
    take_in(
        client,
        b"catalogNumber,eventID,locationID,eventDate,scientificName,individualCount\n"
        b"LONE-1,,LNT-02,2026-06-14,Anax imperator,3\n"
        b"LONE-2,V99,,,Anax imperator,4\n",
    )
    page = client.get("/jars/?find=LONE").get_data(as_text=True)
    assert "Jars without a visit" in page
    assert "<b>Alder Pool</b>, 2026-06-14" in page
    assert "visit V99 is not on the list" in page
    assert "a jar without a day or a site of its own counts nowhere either" in page
    assert "No visit holds these words" not in page
    assert "Jars without a visit" not in client.get("/jars/?find=EX-0001").get_data(as_text=True)


def test_refused_rows_stand_beside_their_reasons(walked: Path):
    client = come_in(desk_of(walked))
    table = (
        b"catalogNumber,eventID,scientificName,individualCount\n"
        b"EX-0901,V01,Anax imperator,3\n"
        b"EX-0902,V01,<b>Anax</b>,many\n"
    )
    page = take_in(client, table).get_data(as_text=True)
    assert "1 row taken in: 1 new" in page
    assert "EX-0902,V01,&lt;b&gt;Anax&lt;/b&gt;,many" in page
    assert "<b>Anax</b>" not in page


def test_sites_of_one_name_are_refused_until_it_is_said_that_they_are_two(walked: Path):
    client = come_in(desk_of(walked))
    table = b"locationID,locality,decimalLatitude,decimalLongitude\nNEW,heron mere,53.8,21.6\n"
    page = take_in(client, table, "sites.csv", "sites").get_data(as_text=True)
    assert "NEW on line 2 has the name of LNT-01 of the survey" in page
    page = take_in(client, table, "sites.csv", "sites", twins="yes").get_data(as_text=True)
    assert "1 row taken in: 1 new" in page


@pytest.mark.parametrize(
    ("kind", "name", "status"),
    [("nonsense", "lots.csv", 400), ("lots", "", 400), ("lots", "../../etc/lots.csv", 200)],
)
def test_a_table_needs_a_kind_and_a_file_and_leaves_no_folder(walked, kind, name, status):
    client = come_in(desk_of(walked))
    table = b"catalogNumber,eventID,scientificName,individualCount\nEX-1,V01,Anax imperator,3\n"
    answer = take_in(client, table, name, kind)
    assert answer.status_code == status
    assert "etc" not in answer.get_data(as_text=True)


def test_nothing_is_recorded_from_another_page_or_by_nobody(walked: Path):
    client = come_in(desk_of(walked))
    for path in ("/jars/", "/jars/lot", "/jars/undo", "/tables/take-in"):
        assert post(client, path, LABEL, Origin="http://elsewhere.example").status_code == 403
        assert client.post(path, data=LABEL, headers={"Origin": PLACE}).status_code == 403
    assert post(desk_of(walked), "/jars/", LABEL).status_code == 400
    assert recorded(walked) == 0


def test_an_empty_survey_says_what_to_do_first(tmp_path: Path):
    create_survey(tmp_path / "survey", title="New survey")
    page = come_in(desk_of(tmp_path / "survey")).get("/jars/").get_data(as_text=True)
    assert "no sites yet" in page
    assert "No visit is recorded yet" in page


@pytest.mark.system("chromium")
@pytest.mark.skipif(not CHROMIUM, reason="the browser chromium is not installed")
def test_a_label_typed_while_the_desk_was_gone_is_recorded_once_when_it_is_back(
    evening: Path, window: Window
):
    port, page = own_port(), window()
    with started(evening, port) as place:
        come_in_by_page(page, place, "/inbox/")
        page.goto(place + "/jars/")
        page.wait_for_selector("#room")
    for field in ("site", "day", "collector", "number", "name-0", "count-0"):
        page.fill(f"[name={field}]", str(LABEL[field]))
    page.press("[name=count-0]", "Enter")
    page.wait_for_selector("#gone:not([hidden])")
    page.press("[name=count-0]", "Enter")  # asked again: still one jar
    assert page.input_value("[name=number]") == "EX-0900"
    with started(evening, port):
        page.wait_for_selector("[role=status].done")
        assert "Anax imperator" in page.locator(".jars .new").inner_text()
    assert recorded(evening) == 1


@pytest.mark.system("chromium")
@pytest.mark.skipif(not CHROMIUM, reason="the browser chromium is not installed")
def test_a_label_is_typed_recorded_with_enter_and_taken_back(evening: Path, window: Window):
    with served(evening) as place:
        page = window()
        come_in_by_page(page, place, "/inbox/")
        page.goto(place + "/jars/")
        for field, words in (
            ("site", "Heron Mere"),
            ("day", "2026-06-13"),
            ("collector", "Nell Reedwater"),
            ("contact", "nell@example.org"),
            ("number", "EX-0900"),
        ):
            page.fill(f"[name={field}]", words)
        page.fill("[name=name-0]", "Anax imperatr")
        page.fill("[name=count-0]", "9")
        page.press("[name=count-0]", "Enter")
        page.click("button[value='use:name-0:Anax imperator']")
        page.wait_for_selector("main:not(:has([role=alert]))")
        page.press("[name=count-0]", "Enter")
        page.wait_for_selector("[role=status].done")
        assert "Anax imperator" in page.locator(".jars .new").inner_text()
        page.click("text=Take it back")
        page.wait_for_selector("text=Bring it back")
    assert recorded(evening) == 0
