"""The room of the survey: state, log, people, settings, what goes out, and what may not happen."""

from __future__ import annotations

import re
import threading
from pathlib import Path
from typing import Any

import pytest
from desk.conftest import CHROMIUM, Window, come_in_by_page, served, until
from desk.desks import PLACE, come_in, desk_of, ended, person_with_words, post, seen
from tests_support import NOW

from triage.pipeline import standing
from triage.store import actions, failures, people
from triage.store.connection import create_survey, open_survey
from triage.store.settings import read_settings

PAGES = ("", "log", "people", "tables", "hand-on", "letters", "safety", "settings")


@pytest.mark.parametrize("page", PAGES)
def test_each_page_opens_full_and_empty(walked: Path, tmp_path: Path, page: str):
    assert come_in(desk_of(walked)).get(f"/survey/{page}").status_code == 200
    create_survey(tmp_path / "new", title="New survey")
    assert come_in(desk_of(tmp_path / "new")).get(f"/survey/{page}").status_code == 200


def test_the_state_counts_what_is_there(walked: Path):
    with open_survey(walked) as survey, survey.transaction():
        failures.add(survey, stage="examine", subject="pond.jpg", reason="<b>cut</b>", now=NOW)
        photo, name = survey.connection.execute(
            "select photo, file_name from appearances where file_name != ''"
        ).fetchone()
        failures.add(survey, stage="link", subject=photo, reason="too large", now=NOW)
    page = come_in(desk_of(walked)).get("/survey/").get_data(as_text=True)
    with open_survey(walked) as survey:
        run = survey.connection.execute
        messages = run("select count(*) from messages").fetchone()[0]
        photos = run("select count(distinct photo) from appearances").fetchone()[0]
    assert f'Messages</h2><p class="big">{messages}</p>' in page
    assert f'Photos</h2><p class="big">{photos}</p>' in page
    assert "pond.jpg" in page
    assert f'<td class="failing">{name}</td><td>too large</td>' in page
    assert "&lt;b&gt;cut&lt;/b&gt;" in page
    assert "Never backed up" in page


def test_an_empty_survey_teaches_the_order_of_the_work(tmp_path: Path):
    create_survey(tmp_path / "new", title="New survey")
    page = come_in(desk_of(tmp_path / "new")).get("/survey/").get_data(as_text=True)
    assert "Nothing is here yet" in page
    for room in ("/survey/tables", "/survey/settings", "/inbox/", "/determine/", "/jars/"):
        assert f'href="{room}"' in page


def test_an_action_is_taken_back_from_the_log_and_brought_back(walked: Path):
    client = come_in(desk_of(walked))
    page = client.get("/survey/log").get_data(as_text=True)
    [number] = re.findall(r'value="(\d+)"><button aria-label="Take back: visits.csv', page)

    def visits() -> int:
        with open_survey(walked) as survey:
            return int(survey.connection.execute("select count(*) from visits").fetchone()[0])

    before = visits()
    assert post(client, "/survey/undo", {"number": number}).status_code == 302
    assert visits() == 0
    page = client.get("/survey/log").get_data(as_text=True)
    [back] = re.findall(r'value="(\d+)"><button aria-label="Bring back: took back: visits', page)
    post(client, "/survey/undo", {"number": back})
    assert visits() == before
    assert post(client, "/survey/undo", {"number": "9999"}).status_code == 400
    assert post(client, "/survey/undo", {"number": "all"}).status_code == 400


def publishes(folder: Path, code: str) -> bool:
    with open_survey(folder) as survey:
        [found] = [one for one in people.all_people(survey) if one.code == code]
        return found.publish == "yes"


def test_a_grant_counts_when_its_words_were_seen(walked: Path):
    code = person_with_words(walked)
    client = come_in(desk_of(walked))
    page = client.get("/survey/people").get_data(as_text=True)
    assert "You may &lt;i&gt;publish&lt;/i&gt; it." in page
    assert not publishes(walked, code)
    post(client, "/survey/consent-seen", {"code": code}, page="/survey/people")
    assert publishes(walked, code)
    with open_survey(walked) as survey:
        assert actions.log(survey, limit=1)[0].by == "Ada Moor"


def test_what_is_for_good_wants_a_yes(walked: Path):
    code = person_with_words(walked)
    client = come_in(desk_of(walked))
    assert post(client, "/survey/forget", {"code": code}).status_code == 400
    assert "Nell Reedwater" in client.get("/survey/people").get_data(as_text=True)
    sure = {"sure": "yes", "seen": seen(client, "/survey/people", "/survey/forget", {})}
    done = post(client, "/survey/forget", {"code": code, **sure})
    assert f"{code}: " in done.text
    assert "Nell Reedwater" not in client.get("/survey/people").get_data(as_text=True)
    two = {"first": "ruth.fenner@example.org", "second": "nobody@example.org"}
    assert post(client, "/survey/one-person", two).status_code == 400
    sure["seen"] = seen(client, "/survey/people", "/survey/one-person", {})
    assert post(client, "/survey/one-person", {**two, **sure}).status_code == 400


def form_of(page: str) -> dict[str, str]:
    """The fields of the settings' form as a browser would send them back."""
    fields = dict(re.findall(r'<input id="[^"]+" name="([^"]+)" value="([^"]*)"', page))
    for name, options in re.findall(r'<select id="[^"]+" name="([^"]+)".*?>(.*?)</select>', page):
        fields[name] = re.findall(r"<option selected>([^<]+)", options)[0]
    boxes = re.findall(r'type="checkbox" id="[^"]+" name="([^"]+)" value="yes" checked', page)
    seen = re.findall(r'name="seen" value="([^"]*)"', page)
    return {**fields, **dict.fromkeys(boxes, "yes"), "seen": seen[0]}


def test_settings_sent_back_unchanged_change_nothing(walked: Path):
    client = come_in(desk_of(walked))
    before = read_settings(walked / "survey.toml")
    form = form_of(client.get("/survey/settings").get_data(as_text=True))
    assert post(client, "/survey/settings", form).status_code == 302
    assert read_settings(walked / "survey.toml") == before


def test_a_setting_is_changed_and_a_wrong_one_stands_marked(walked: Path):
    client = come_in(desk_of(walked))
    form = form_of(client.get("/survey/settings").get_data(as_text=True))
    wrong = {**form, "survey.title": "Rush <Survey>", "queue.both_views_gain": "-3"}
    answer = post(client, "/survey/settings", wrong)
    assert answer.status_code == 422
    page = answer.get_data(as_text=True)
    assert "must be at least 0" in page
    assert "Rush &lt;Survey&gt;" in page
    assert read_settings(walked / "survey.toml").survey.title == "Linnet Water Survey"
    right = {
        **form,
        "survey.title": "Rush Survey",
        "matching.detection_per_pass": "0,7",
        "survey.area": "53.5, 21.0, 54.3, 22.4",
        "determinations.blind": "yes",
        "survey.identifier": "another",
    }
    assert post(client, "/survey/settings", right).status_code == 302
    read = read_settings(walked / "survey.toml")
    assert (read.survey.title, read.matching.detection_per_pass) == ("Rush Survey", 0.7)
    assert read.survey.area == (53.5, 21.0, 54.3, 22.4)
    assert read.determinations.blind
    assert read.survey.identifier != "another"


def finish(client: Any) -> tuple[str, ...]:
    """What the work beside the server said at its end."""
    stand = ended(client)
    return (*stand.said, stand.problem)


def test_an_audit_and_an_export_run_beside_the_server(walked: Path):
    client = come_in(desk_of(walked))
    assert post(client, "/survey/begin", {"what": "audit"}).status_code == 200
    assert any(line.startswith("Nothing is damaged or lost") for line in finish(client))
    assert post(client, "/survey/begin", {"what": "release:export"}).status_code == 200
    assert any("rows in sightings.csv" in line for line in finish(client))
    page = client.get("/survey/hand-on").get_data(as_text=True)
    [name] = re.findall(r"/survey/release/([^\"]+)\.zip", page)
    assert "without a name yet are left out." in page
    with client.get(f"/survey/release/{name}.zip") as answer:
        assert answer.status_code == 200
        assert answer.data[:2] == b"PK"


def test_a_backup_stands_beside_the_survey(walked: Path):
    client = come_in(desk_of(walked))
    post(client, "/survey/begin", {"what": "backup"})
    assert "read back and found whole" in finish(client)[0]
    [made] = walked.parent.glob("survey-backup-*.zip")
    assert made.read_bytes()[:2] == b"PK"
    assert "newest backup is of" in client.get("/survey/safety").get_data(as_text=True)


def test_letters_need_the_surveys_own_address(walked: Path):
    client = come_in(desk_of(walked))
    page = client.get("/survey/letters").get_data(as_text=True)
    assert "reply address" in page
    assert "Draft the thanks" not in page
    assert post(client, "/survey/letters").status_code == 400


def with_one_named(folder: Path) -> Any:
    """A desk on a survey in which somebody's sighting was named."""
    client = come_in(desk_of(folder), "Ida Reed")
    with open_survey(folder) as survey:  # in its season, or a second opinion would be asked for
        sighting = next(one for one in standing.sightings(survey) if "-07-" in one.event_date)
    said = {"sighting": sighting.identifier, "taxon": "Aeshna cyanea"}
    post(client, "/determine/record", said)
    return client


@pytest.mark.parametrize("what", ["thanks", "season"])
def test_letters_are_shown_before_they_are_drafted(evening: Path, what: str):
    client = with_one_named(evening)
    shown = post(client, "/survey/letters", {"what": what, "year": "2026"})
    page = shown.get_data(as_text=True)
    assert "What would be drafted" in page
    assert "Aeshna cyanea" in page
    assert "Ida Reed" not in page.partition("<pre")[2].partition("</pre>")[0]
    assert list(evening.glob("replies/*")) == []


def test_thanks_and_season_letters_are_drafted_changed_and_printed(evening: Path):
    client = with_one_named(evening)
    for what in ("thanks", "season"):
        assert post(client, "/survey/begin", {"what": what, "year": "2026"}).status_code == 200
        assert "1 letter drafted" in finish(client)[0]
    page = client.get("/survey/letters").get_data(as_text=True)
    codes = re.findall(r'href="/letter/([^"?]+)\?back=letters"', page)
    assert [code.partition("-")[0] for code in codes] == ["season", "season", "thanks"]
    assert codes[0] == "season-2026-for-all"
    for code in codes:
        where = f"/letter/{code}"
        assert "never sent" in client.get(where).get_data(as_text=True) or "all" in code
        words = {"words": "Dear all,\n<b>good</b> news — truly.\n", "back": "letters"}
        post(client, where, words, page=where)
        assert "&lt;b&gt;good&lt;/b&gt; news — truly." in client.get(where).get_data(as_text=True)
        with client.get(f"{where}.pdf") as printed:
            assert printed.mimetype == "application/pdf"
            assert printed.data.startswith(b"%PDF")
    with client.get(f"/letter/{codes[2]}.eml") as file:
        assert b"X-Unsent: 1" in file.data  # a mail program opens it as a draft
    for_all = (evening / "replies" / "season-2026-for-all.txt").read_text(encoding="utf-8")
    assert "good</b> news" in for_all
    assert codes[1] in [path.stem for path in evening.glob("replies/*.eml")]


@pytest.mark.parametrize("year", ["", "26", "20x6", "２０２６", "9" * 30])
def test_a_season_letter_is_about_a_year(evening: Path, year: str):
    client = come_in(desk_of(evening))
    for path in ("letters", "begin"):
        answer = post(client, f"/survey/{path}", {"what": "season", "year": year})
        assert answer.status_code == 400


@pytest.mark.parametrize(
    "path",
    [
        "/survey/release/..%2Fsurvey.zip",
        "/survey/release/../../survey.zip",
        "/survey/release/originals.zip",
        "/letter/..%2Fsurvey.toml",
        "/letter/..%2F..%2Fsurvey.pdf",
        "/letter/nothing.eml",
        "/letter/season-2026-for-all.pdf",
    ],
)
def test_no_path_leads_out_of_its_folder(walked: Path, path: str):
    assert come_in(desk_of(walked)).get(path).status_code == 404


@pytest.mark.parametrize(
    "path",
    ["undo", "consent-seen", "one-person", "forget", "settings", "letters", "begin"],
)
def test_another_page_changes_nothing(walked: Path, path: str):
    client = come_in(desk_of(walked))
    data = {"number": "1", "what": "backup", "sure": "yes"}
    elsewhere = post(client, f"/survey/{path}", data, Origin="http://elsewhere.example")
    assert elsewhere.status_code == 403
    without = client.post(f"/survey/{path}", data=data, headers={"Origin": PLACE})
    assert without.status_code == 403
    nobody = post(desk_of(walked), f"/survey/{path}", data)
    assert nobody.status_code == 400
    assert not list(walked.parent.glob("*backup*"))


def test_unknown_work_is_refused_and_two_works_at_once(walked: Path):
    client = come_in(desk_of(walked))
    assert post(client, "/survey/begin", {"what": "format the disk"}).status_code == 400
    assert post(client, "/survey/begin", {"what": "release:../x"}).status_code == 400
    done = threading.Event()
    client.application.extensions["work"].start(lambda survey, progress: [str(done.wait())])
    for path, data in (
        ("/survey/begin", {"what": "audit"}),
        ("/survey/packet", {"whom": "Ida Kvist", "count": "4"}),
        ("/arrivals/examine", {}),
        ("/arrivals/drop", {}),
    ):
        assert post(client, path, data).status_code == 409
    done.set()
    assert finish(client) == ("True", "")


@pytest.mark.system("chromium")
@pytest.mark.skipif(not CHROMIUM, reason="the browser chromium is not installed")
def test_an_export_is_written_from_the_page_with_progress(evening: Path, window: Window):
    with served(evening) as place:
        page = window()
        come_in_by_page(page, place, "/inbox/")
        page.goto(place + "/survey/hand-on")
        page.wait_for_selector("html[data-ready]")
        page.click("text=Write: Tables and archives")
        until(page, lambda: "rows in sightings.csv" in page.locator("#said").inner_text())
        assert page.locator(".release").count() == 1
        with page.expect_download() as download:
            page.click(".release a.button")
        assert download.value.suggested_filename.startswith("export-")
