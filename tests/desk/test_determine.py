"""The determiner's room as the browser asks it: what is lent, shown, hidden and recorded."""

from __future__ import annotations

import html
import json
import re
from pathlib import Path

import pytest
from desk.desks import come_in, desk_of, post
from flask.testing import FlaskClient
from tests_support import NOW

from triage.analysis.geodesy import metres_between
from triage.determinations import Statement
from triage.pipeline import determine, match, queueing, standing
from triage.store import evidence
from triage.store import sightings as kept
from triage.store.connection import open_survey


def sighting_in(page: str) -> str:
    found = re.search(r'data-sighting="([0-9a-f]+)"', page)
    return found.group(1) if found else ""


def page_of(client: FlaskClient, path: str = "/determine/") -> str:
    answer = client.get(path)
    assert answer.status_code in (200, 204)
    return answer.get_data(as_text=True)


def test_the_first_sighting_is_the_first_of_the_queue(client: FlaskClient, walked: Path):
    with open_survey(walked) as survey:
        first = queueing.queue(survey, now=NOW)[0].sighting.identifier
    assert sighting_in(page_of(client)) == first


def test_nobody_gets_a_sighting_before_saying_who_it_is(walked: Path):
    page = page_of(desk_of(walked))
    assert "Who is at the desk?" in page
    assert sighting_in(page) == ""


@pytest.mark.parametrize("name", ["", "?", "unbekannt", "N.N.", "12"])
def test_nobodys_name_opens_no_desk(walked: Path, name: str):
    client = desk_of(walked)
    assert post(client, "/who", {"name": name, "sure": "yes"}).status_code == 400
    assert "Who is at the desk?" in page_of(client)


def test_the_nearest_waters_are_shown_whatever_name_another_gave(walked: Path):
    """A name that no water near makes likely, given by another, neither hides waters nor shows."""
    ida, ben = come_in(desk_of(walked)), come_in(desk_of(walked), "Ben Holm")
    sighting = sighting_in(page_of(ida))
    near = re.compile(r'<p class="near">(.*?)</p>')
    before = near.findall(page_of(ida, f"/determine/sighting/{sighting}"))
    with open_survey(walked) as survey:
        row = kept.find(survey, sighting)
        sites = evidence.sites(survey)
        away = sorted((metres_between(row, site) or 0.0, site.locality) for site in sites)
    assert [html.unescape(line).split("</b>")[0][3:] for line in before] == [
        name for _, name in away[: len(before)]
    ]
    assert len(before) == min(3, len(away))
    said = {"sighting": sighting, "taxon": "Leucorrhinia pectoralis", "second_opinion": "yes"}
    assert post(ida, "/determine/record", said).status_code == 200
    assert near.findall(page_of(ben, f"/determine/sighting/{sighting}")) == before


def test_two_browsers_never_hold_the_same_sighting(walked: Path):
    ida, ben = come_in(desk_of(walked)), come_in(desk_of(walked), "Ben Holm")
    held: dict[str, list[str]] = {"ida": [], "ben": []}
    for _ in range(3):
        for name, browser in (("ida", ida), ("ben", ben)):
            query = "&".join(f"have={one}" for one in held[name])
            found = sighting_in(page_of(browser, f"/determine/next?{query}"))
            if found:
                held[name].append(found)
    assert held["ida"]
    assert held["ben"]
    assert not set(held["ida"]) & set(held["ben"])


def test_a_page_loaded_again_has_the_same_sighting_in_hand(walked: Path):
    ida, ben = come_in(desk_of(walked)), come_in(desk_of(walked), "Ben Holm")
    first = sighting_in(page_of(ida))
    assert sighting_in(page_of(ben)) != first
    assert sighting_in(page_of(ida)) == first


def test_a_determination_is_recorded_under_the_persons_name(client: FlaskClient, walked: Path):
    sighting = sighting_in(page_of(client))
    answer = post(
        client, "/determine/record", {"sighting": sighting, "taxon": "Aeshna cyanea", "sex": "male"}
    )
    assert answer.json["name"] == "Aeshna cyanea"
    with open_survey(walked) as survey:
        [made] = standing.standing(survey).determinations[sighting]
        assert (made.scientific_name, made.sex, made.outcome) == (
            "Aeshna cyanea",
            "male",
            "determined",
        )
    assert sighting_in(page_of(client)) != sighting


@pytest.mark.parametrize(
    "said",
    [
        {},
        {"taxon": "No such name"},
        {"taxon": "Aeshna cyanea", "cannot_tell": "blurred"},
        {"taxon": "Aeshna cyanea", "sex": "both"},
        {"taxon": "Aeshna cyanea", "qualifier": "<b>"},
    ],
)
def test_what_cannot_be_recorded_is_refused_with_a_sentence(
    client: FlaskClient, said: dict[str, str]
):
    sighting = sighting_in(page_of(client))
    answer = post(client, "/determine/record", {"sighting": sighting, **said})
    assert answer.status_code == 400
    assert all(answer.json[key] for key in ("what", "failing", "next_step"))
    assert sighting_in(page_of(client)) == sighting


def test_what_others_said_shows_after_recording_and_not_before(walked: Path):
    ida, ben = come_in(desk_of(walked)), come_in(desk_of(walked), "Ben Holm")
    sighting = sighting_in(page_of(ida))
    said = {
        "sighting": sighting,
        "taxon": "Aeshna grandis",
        "second_opinion": "yes",
        "remarks": "brown wings",
    }
    post(ida, "/determine/record", said)
    page = page_of(ben, f"/determine/sighting/{sighting}")
    assert "second opinion" in page
    assert "Ada Moor" not in page
    assert "brown wings" not in page
    answer = post(ben, "/determine/record", {"sighting": sighting, "taxon": "Aeshna cyanea"})
    assert answer.json["others"] == [
        {"by": "Ada Moor", "what": "Aeshna grandis", "remarks": "brown wings"}
    ]


def test_undo_takes_back_my_last_action_and_nobody_elses(walked: Path):
    ida, ben = come_in(desk_of(walked)), come_in(desk_of(walked), "Ben Holm")
    mine = sighting_in(page_of(ida))
    post(ida, "/determine/record", {"sighting": mine, "taxon": "Aeshna cyanea"})
    theirs = sighting_in(page_of(ben))
    post(ben, "/determine/record", {"sighting": theirs, "taxon": "Aeshna grandis"})
    last = ida.get("/determine/mine").json
    assert "Aeshna cyanea" in last["summary"]
    undone = post(ida, "/determine/undo", {"number": last["number"]})
    assert undone.status_code == 200
    assert post(ida, "/determine/undo", {"number": last["number"]}).status_code == 400  # only once
    assert post(ben, "/determine/undo", {"number": undone.json["number"]}).status_code == 400
    with open_survey(walked) as survey:
        stands = standing.standing(survey).accepted
        assert stands[mine].state == "queued"
        assert stands[theirs].scientific_name == "Aeshna grandis"
    assert post(ida, "/determine/undo", {"number": undone.json["number"]}).json["holds"]
    with open_survey(walked) as survey:
        assert standing.standing(survey).accepted[mine].scientific_name == "Aeshna cyanea"


@pytest.mark.parametrize("number", ["", "0", "-1", "999999", "1 or 1=1", "１"])
def test_a_number_that_is_no_action_of_mine_takes_nothing_back(client: FlaskClient, number: str):
    assert post(client, "/determine/undo", {"number": number}).status_code == 400


def test_the_weather_stands_beside_date_and_place_if_the_mail_tells_it(
    client: FlaskClient, walked: Path
):
    assert "<dt>Weather</dt>" not in page_of(client)
    with open_survey(walked) as survey, survey.transaction():
        words = "Sunny, 24 °C, no <wind>."
        survey.connection.execute("update envelopes set text = text || char(10) || ?", (words,))
    assert re.search(r"<dd>“<span[^>]*>Sunny, 24 °C, no &lt;wind&gt;</span>” ", page_of(client))


def test_blind_hides_everything_that_hints_at_a_name_or_an_observer(
    client: FlaskClient, walked: Path
):
    with open_survey(walked) as survey, survey.transaction():
        survey.connection.execute("update envelopes set text = text || ' Hot at Alder Pool.'")
    open_page = page_of(client)
    assert "<blockquote>" in open_page
    assert "Weather" in open_page
    post(client, "/determine/blind", {"blind": "yes"})
    page = page_of(client)
    shown = page[page.index("<article") : page.index("</article>")]
    for word in (
        "Place",
        "Weather",
        "Hot",
        "blockquote",
        "Exuviae nearby",
        "Why here",
        "Seems",
        ".jpg",
        ".JPG",
    ):
        assert word not in shown
    found = re.search(r'data-order="([^"]*)"', shown)
    assert found is not None
    order = json.loads(html.unescape(found.group(1)))
    assert [one["i"] for one in order] == sorted(one["i"] for one in order)
    assert all(one["season"] is None and one["near"] == 0 for one in order)


def test_no_page_tells_a_blind_determiner_what_another_said(walked: Path):
    """The room, its neighbours, the log, the waters: the first name stands in none of them."""
    settings = walked / "survey.toml"
    text = settings.read_text(encoding="utf-8")
    settings.write_text(text.replace("blind = false", "blind = true"), encoding="utf-8")
    with open_survey(walked) as survey:
        at = {one.sighting: one.location_id for one in match.current(survey)}
        one = next(
            s for s in standing.sightings(survey) if s.state == "queued" and at.get(s.identifier)
        )
        said = Statement(taxon="Anax cf. imperator", second_opinion=True)
        determine.determine(survey, one.identifier, said, by="Bo Wren", now=NOW, new=True)
        match.bring_up_to_date(survey)
        now_at = [m.location_id for m in match.current(survey, [one.identifier]) if m.location_id]
    client = come_in(desk_of(walked))
    for path in (
        f"/determine/sighting/{one.identifier}",
        f"/determine/neighbours/{one.identifier}",
        f"/sites/at?site={at[one.identifier]}",
        "/survey/log",
    ):
        assert not re.search(r"cf\.\s*(?:<i>)?\s*(?:Anax )?imperator", page_of(client, path)), path
    in_log = rf"sighting {one.identifier[:10]} \([^)]*\)"
    assert re.search(f"{in_log}: not shown", page_of(client, "/survey/log"))
    at_water = page_of(client, f"/sites/at?site={now_at[0]}")
    assert "not shown while another look is wanted" in at_water
    assert "<p>Anax imperator" not in at_water  # as the reason of a match begins
    assert "waiting for a second look" not in page_of(client, "/sites/table")
    own = come_in(desk_of(walked), "Bo Wren")
    assert re.search(f"{in_log}: Anax cf. imperator", page_of(own, "/survey/log"))


def test_a_survey_can_require_blind_determinations(walked: Path):
    settings = walked / "survey.toml"
    text = settings.read_text(encoding="utf-8")
    settings.write_text(text.replace("blind = false", "blind = true"), encoding="utf-8")
    assert "<blockquote>" not in page_of(come_in(desk_of(walked)))


def test_a_view_is_corrected(client: FlaskClient, walked: Path):
    page = page_of(client)
    photo = re.search(r'data-photo="([0-9a-f]{64})"', page)
    assert photo is not None
    fields = {"photo": photo.group(1), "field": "view", "value": "anterior"}
    assert post(client, "/determine/correct", fields).status_code == 200
    assert "from the front" in page_of(client, f"/determine/sighting/{sighting_in(page)}")


def test_every_photo_of_the_sighting_is_shown_as_an_upright_jpeg(client: FlaskClient):
    page = page_of(client)
    sources = set(re.findall(r'src="(/picture/[^"]+)"', page)) | set(
        re.findall(r'data-whole="([^"]+)"', page)
    )
    assert len(sources) >= 2
    for source in sources:
        answer = client.get(source, buffered=True)
        assert answer.mimetype == "image/jpeg"
        assert answer.data.startswith(b"\xff\xd8\xff")


def test_a_name_much_like_a_known_one_is_asked_about_at_the_door(client: FlaskClient, walked: Path):
    sighting = sighting_in(page_of(client))
    post(client, "/determine/record", {"sighting": sighting, "cannot_tell": "blurred"})
    other = desk_of(walked)
    asked = post(other, "/who", {"name": "Ada Mor"})
    assert asked.status_code == 200
    assert "I am Ada Moor" in asked.get_data(as_text=True)
    assert "Set-Cookie" not in asked.headers or "Ada%20Mor" not in str(asked.headers)
    assert post(other, "/who", {"name": "Ada Mor", "sure": "yes"}).status_code == 302
    theirs = sighting_in(page_of(other))
    said = {"sighting": theirs, "cannot_tell": "too small"}
    assert post(other, "/determine/record", said).status_code == 200
    with open_survey(walked) as survey:
        made = [d for ones in standing.standing(survey).determinations.values() for d in ones]
    assert len({d.identified_by for d in made}) == 2


def test_what_may_be_the_same_animal_is_of_the_same_observer_and_day(client, walked: Path):
    with open_survey(walked) as survey:
        rows = standing.standing(survey).rows
        days = {one: (row.observer, row.event_date[:10]) for one, row in rows.items()}
    for sighting, day in days.items():
        found = client.get(f"/determine/neighbours/{sighting}").json
        assert all(one["sources"] for one in found)
        shown = {one["word"] for one in found}
        assert shown == {one for one in days if days[one] == day and one != sighting}


def test_what_is_said_back_names_people_and_holds_no_identifier(walked: Path):
    ida = come_in(desk_of(walked))
    sighting = sighting_in(page_of(ida))
    said = {"sighting": sighting, "taxon": "Aeshna grandis", "second_opinion": "yes"}
    recorded = post(ida, "/determine/record", said).json
    assert recorded["reason"].startswith("Ada Moor asks")
    last = ida.get("/determine/mine").json
    assert last["summary"] == "Aeshna grandis"
    undone = post(ida, "/determine/undo", {"number": last["number"]}).json
    assert undone["summary"] == "Aeshna grandis"
    again = post(ida, "/determine/undo", {"number": undone["number"]}).json
    assert again["summary"] == "took back: Aeshna grandis"
    text = " ".join(f"{one}" for one in (recorded, last, undone, again))
    assert not re.search(r"[0-9a-f]{12}|P-[0-9A-F]{8}", text)
