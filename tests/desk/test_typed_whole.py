"""Whatever a form sends is recorded whole or refused with a word; what was taken back is shown."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from desk.desks import come_in, desk_of, done, person_with_words, post
from flask.testing import FlaskClient

from triage.desk import opened
from triage.pipeline import jars
from triage.store import messages
from triage.store.connection import open_survey

# ------------------------------------------------------------------ too long to be kept


LABEL = {"site": "Heron Mere", "day": "2026-06-14"}


@pytest.mark.parametrize(
    ("path", "fields", "long"),
    [
        ("/jars/", LABEL, "remarks"),
        ("/jars/", {**LABEL, "name-0": "Anax imperator", "count-0": "2"}, "remarks-0"),
        ("/jars/lot", {"number": "EX-0001", "name": "Anax imperator"}, "remarks"),
        ("/determine/record", {"taxon": "Anax imperator"}, "remarks"),
        ("/inbox/settle", {"do": "aside"}, "aside"),
        ("/inbox/settle", {"do": "photographer", "new_person": "yes"}, "photographer"),
        ("/inbox/records/", {"do": "said"}, "words"),
        ("/survey/settings", {}, "survey.description"),
        ("/letter/q-1", {}, "words"),
        ("/who", {}, "name"),
    ],
)
def test_what_is_too_long_is_refused_and_never_cut(
    client: FlaskClient, walked: Path, path: str, fields: dict[str, str], long: str
):
    before = done(walked)
    text = "seen at the reeds " * 2000
    answer = post(client, path, {**fields, long: text})
    assert answer.status_code == 400
    assert f"{len(text):,} characters" in answer.json["what"]
    assert "Shorten it" in answer.json["next_step"]
    assert done(walked) == before


def test_a_remark_of_full_length_is_recorded_whole(client: FlaskClient, walked: Path):
    text = "é" * opened.LONGEST
    assert post(client, "/jars/", {**LABEL, "remarks": text}).status_code == 302
    with open_survey(walked) as survey:
        visits = [jar.visit for jar in jars.page(survey, "2026-06-14")[0]]
    assert [visit.event_remarks for visit in visits] == [text]
    assert text in client.get("/jars/?find=2026-06-14").get_data(as_text=True)


@pytest.mark.parametrize("field", ["count-3", "sex-3", "remarks-3"])
def test_a_line_of_a_label_without_a_name_is_asked_about(
    client: FlaskClient, walked: Path, field: str
):
    typed = {**LABEL, "name-0": "Anax imperator", "count-0": "2", field: "2 damaged"}
    answer = post(client, "/jars/", typed)
    assert answer.status_code == 422
    page = answer.get_data(as_text=True)
    assert "There is no name." in page
    assert 'value="2 damaged"' in page
    assert "jar" not in done(walked)


@pytest.mark.parametrize(
    ("typed", "latitude"),
    [("53.9051", 53.9051), ("53,9051", 53.9051), (" -0,5 ", -0.5), ("53° 54'", None), ("x", None)],
)
def test_degrees_are_read_with_a_point_or_a_comma_or_refused_as_typed(
    client: FlaskClient, walked: Path, typed: str, latitude: float | None
):
    with open_survey(walked) as survey:
        message = messages.unsettled(survey)[0].identifier
    fields = {"do": "new-site", "current": message, "new_name": "Reed Ditch"}
    fields |= {"new_latitude": typed, "new_longitude": "21,7"}
    answer = post(client, "/inbox/settle", fields, page=f"/inbox/{message}")
    with open_survey(walked) as survey:
        made = [s.decimal_latitude for s in jars.choices(survey)[0] if s.locality == "Reed Ditch"]
    if latitude is None:
        assert answer.status_code == 400
        assert answer.json["failing"] == typed
        assert made == []
    else:
        assert made == [pytest.approx(latitude)]


# ------------------------------------------------------------------ several messages, taking back


def two_open(folder: Path) -> list[str]:
    with open_survey(folder) as survey:
        return [m.identifier for m in messages.unsettled(survey)][:2]


@pytest.mark.parametrize("do", ["faces:withheld", "withdraw", "animal", "answers:yes"])
def test_what_must_be_looked_at_is_not_decided_for_ticked_messages(
    client: FlaskClient, walked: Path, do: str
):
    first, other = two_open(walked)
    before = done(walked)
    answer = post(client, "/inbox/settle", {"do": do, "current": first, "message": other})
    assert answer.status_code == 400
    assert "one message at a time" in answer.json["what"]
    assert done(walked) == before


def test_questions_drafted_together_are_all_shown(evening: Path):
    client = come_in(desk_of(evening))
    first, other = two_open(evening)
    fields = {"do": "ask:place", "current": first, "message": other}
    answer = post(client, "/inbox/settle", fields, page=f"/inbox/{first}")
    page = client.get(answer.location).get_data(as_text=True)
    assert "1 question was drafted together with this one" in page
    others = re.findall(r'<li><a href="(/letter/[^"?]+)">to ', page)
    assert len(others) == 1
    assert others[0] not in answer.location
    assert client.get(others[0]).status_code == 200


def test_taking_back_shows_what_was_taken_back(client: FlaskClient, walked: Path):
    with open_survey(walked) as survey:
        message = messages.unsettled(survey)[-1].identifier
    said = {"do": "aside:a drawing", "current": message}
    post(client, "/inbox/settle", said, page=f"/inbox/{message}")
    page = client.get("/inbox/", follow_redirects=True).get_data(as_text=True)
    number = re.findall(r'name="number" value="(\d+)"', page)[-1]
    back = post(client, "/inbox/undo", {"number": number, "back": "/inbox/"})
    assert back.location.startswith(f"/inbox/{message}?undone=")


def test_taking_back_a_record_stays_with_the_records_and_names_people(
    client: FlaskClient, walked: Path
):
    code = person_with_words(walked)
    post(client, "/inbox/records/", {"do": "grants", "key": code}, page="/inbox/records/")
    page = client.get("/inbox/records/").get_data(as_text=True)
    assert "Your last: the consent of Nell Reedwater was seen" in page
    assert code not in page.split("Your last:")[1]
    number = re.findall(r'name="number" value="(\d+)"', page)[-1]
    back = post(client, "/inbox/undo", {"number": number, "back": "/inbox/records/"})
    assert back.location.startswith("/inbox/records/?undone=")
    assert "Taken back." in client.get(back.location).get_data(as_text=True)


def test_what_was_done_for_people_is_said(client: FlaskClient, walked: Path):
    code = person_with_words(walked)
    answer = post(client, "/survey/consent-seen", {"code": code}, page="/survey/people")
    page = client.get(answer.location).get_data(as_text=True)
    assert "Recorded: the consent of Nell Reedwater was seen." in page
