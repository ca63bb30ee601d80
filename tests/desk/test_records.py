"""Records decided on the desk: words of consent, names of lots, people; and waters added there."""

from __future__ import annotations

import html
from datetime import timedelta
from pathlib import Path

import pytest
from desk.desks import person_with_words, post
from flask.testing import FlaskClient
from tests_support import NOW

from triage.determinations import Statement
from triage.exuviae import ExuviaeLot
from triage.mail.consent import read_consent
from triage.pipeline import audit, message_page, standing
from triage.pipeline.determine import determine
from triage.pipeline.tables import add_site, import_table
from triage.pipeline.undo import undo
from triage.store import actions, consents, evidence, messages, people
from triage.store.connection import Survey, open_survey


def page(client: FlaskClient) -> str:
    return html.unescape(client.get("/inbox/records/").get_data(as_text=True))


def kinds(folder: Path) -> list[str]:
    with open_survey(folder) as survey:
        return [need.kind for need in audit.record_needs(survey, now=NOW)]


def unclear(folder: Path) -> list[str]:
    """The people whose words about use wait for a decision."""
    with open_survey(folder) as survey:
        return [n.key for n in audit.record_needs(survey, now=NOW) if n.kind == "unclear consent"]


def with_lot(folder: Path, name: str) -> None:
    with open_survey(folder) as survey, survey.transaction():
        visit = evidence.visits(survey)[0]
        lot = ExuviaeLot(
            catalog_number="J-9",
            event_id=visit.event_id,
            location_id=visit.location_id,
            first_day=visit.first_day,
            last_day=visit.last_day,
            scientific_name=name,
            taxon_rank="species",
            individual_count=3,
        )
        evidence.save(survey, [lot])


def test_words_that_seem_to_allow_something_stand_under_the_name_of_who_wrote_them(
    client: FlaskClient, walked: Path
):
    code = person_with_words(walked)
    shown = page(client)
    assert ">person Nell Reedwater</h3>" in shown
    assert (
        post(
            client, "/inbox/records/", {"do": "grants", "key": code}, page="/inbox/records/"
        ).status_code
        == 302
    )
    assert ">person Nell Reedwater</h3>" not in page(client)


def test_words_that_allow_nothing_leave_the_list_and_come_back_by_undo(
    client: FlaskClient, walked: Path
):
    code = person_with_words(walked)
    assert "They allow nothing" in page(client)
    said = {"do": "grants nothing", "key": code}
    assert post(client, "/inbox/records/", said, page="/inbox/records/").status_code == 302
    assert ">person Nell Reedwater</h3>" not in page(client)
    with open_survey(walked) as survey:
        assert people.find(survey, code).publish == "unstated"
        undo(survey, by="Ada Moor", now=NOW)
    assert "Nell Reedwater" in page(client)
    post(client, "/survey/consent-seen", {"code": code, "says": "nothing"}, page="/survey/people")
    assert ">person Nell Reedwater</h3>" not in page(client)
    assert post(client, "/inbox/records/", said, page="/inbox/records/").status_code == 412


def test_an_unresolved_name_is_named_by_one_key(client: FlaskClient, walked: Path):
    with_lot(walked, "Aesna mixta")
    assert kinds(walked).count("unresolved name") == 1
    assert "It is <i>Aeshna mixta</i>" in page(client)
    said = {"do": "named:Aeshna mixta", "key": "J-9"}
    assert post(client, "/inbox/records/", said, page="/inbox/records/").status_code == 302
    assert "unresolved name" not in kinds(walked)
    with open_survey(walked) as survey:
        lot = next(one for one in evidence.lots(survey) if one.catalog_number == "J-9")
    assert (lot.scientific_name, lot.identified_by) == ("Aeshna mixta", "Ada Moor")


def test_a_sighting_under_a_name_that_left_the_checklist_says_what_to_do(
    client: FlaskClient, walked: Path, tmp_path: Path
):
    table = tmp_path / "more.csv"
    table.write_text("scientificName,taxonRank,family\nAeshna affinis,species,Aeshnidae\n")
    with open_survey(walked) as survey:
        import_table(survey, "checklist", table, by="Bo", now=NOW)
        sighting = standing.sightings(survey)[0].identifier
        said = Statement(taxon="Aeshna affinis")
        determine(survey, sighting, said, by="Ida", now=NOW, new=True)
        undo(survey, by="Bo", now=NOW)
    shown = page(client)
    assert f">sighting {sighting}</h3>" in shown
    assert "Import the taxon again, or name the sighting anew." in shown


def test_a_name_that_is_none_is_refused(client: FlaskClient, walked: Path):
    with_lot(walked, "Aesna mixta")
    assert (
        post(
            client, "/inbox/records/", {"do": "named:Qqq", "key": "J-9"}, page="/inbox/records/"
        ).status_code
        == 400
    )
    assert "unresolved name" in kinds(walked)


def test_people_of_near_names_are_joined(client: FlaskClient, walked: Path):
    with open_survey(walked) as survey, survey.transaction():
        people.by_address(survey, "w@example.org", name="Wanda Kalina")
        people.by_address(survey, "wk@example.org", name="Wanda Kalna")
        codes = [p.code for p in people.all_people(survey) if p.name.startswith("Wanda")]
    before = kinds(walked).count("near names")
    assert "Wanda Kalina / Wanda Kalna" in page(client)
    assert "w@example.org · wk@example.org" in page(client)
    said = {"do": "same", "first": codes[0], "second": codes[1]}
    assert post(client, "/inbox/records/", said, page="/inbox/records/").status_code == 302
    assert kinds(walked).count("near names") == before - 1
    with open_survey(walked) as survey:
        [one] = [p for p in people.all_people(survey) if p.name.startswith("Wanda")]
    assert set(one.addresses) == {"w@example.org", "wk@example.org"}
    assert (
        post(client, "/inbox/records/", said, page="/inbox/records/").status_code == 412
    )  # one of them is nobody now


def test_people_of_near_names_are_told_apart_and_nobody_asks_again(
    client: FlaskClient, walked: Path
):
    with open_survey(walked) as survey, survey.transaction():
        people.by_address(survey, "w@example.org", name="Wanda Kalina")
        people.by_address(survey, "wk@example.org", name="Wanda Kalna")
        codes = [p.code for p in people.all_people(survey) if p.name.startswith("Wanda")]
    before = kinds(walked).count("near names")
    assert "They are two" in page(client)
    said = {"do": "two", "first": codes[0], "second": codes[1]}
    assert post(client, "/inbox/records/", said, page="/inbox/records/").status_code == 302
    assert kinds(walked).count("near names") == before - 1
    assert "They are two" not in page(client)


@pytest.mark.parametrize(("pressed", "publish"), [("yes", "yes"), ("no", "no"), ("nothing", "yes")])
def test_words_about_use_suspend_a_grant_and_are_decided_by_one_key(
    client: FlaskClient, walked: Path, pressed: str, publish: str
):
    words = "You may publish the photos once my article is out."
    with open_survey(walked) as survey, survey.transaction():
        one = next(p for p in people.all_people(survey) if p.addresses)
        earlier = actions.record(
            survey, "consent", "a mail", by="Ada Moor", now=NOW - timedelta(days=1)
        )
        granted = read_consent("You may publish my photos.")
        consents.add(survey, one.row, granted, answers=True, action=earlier)
        action = actions.record(survey, "consent", "a mail", by="Ada Moor", now=NOW)
        consents.add(survey, one.row, read_consent(words), action=action)
        assert {p.publish for p in people.all_people(survey) if p.row == one.row} == {"unstated"}
    assert words in page(client)
    assert one.code in unclear(walked)
    assert (
        post(
            client,
            "/inbox/records/",
            {"do": f"decided:{pressed}", "key": one.code},
            page="/inbox/records/",
        ).status_code
        == 302
    )
    assert one.code not in unclear(walked)
    with open_survey(walked) as survey:
        assert {p.publish for p in people.all_people(survey) if p.row == one.row} == {publish}
    assert (
        post(
            client,
            "/inbox/records/",
            {"do": "decided:yes", "key": one.code},
            page="/inbox/records/",
        ).status_code
        == 412
    )


def test_two_people_of_one_name_at_two_addresses_are_asked_about(client: FlaskClient, walked: Path):
    with open_survey(walked) as survey, survey.transaction():
        for address in ("w@example.org", "w@example.net"):
            people.by_address(survey, address, name="Wanda Kalina")
        codes = [p.code for p in people.all_people(survey) if p.name.startswith("Wanda")]
    assert "the same name" in page(client)
    said = {"do": "same", "first": codes[0], "second": codes[1]}
    assert post(client, "/inbox/records/", said, page="/inbox/records/").status_code == 302
    assert "near names" not in kinds(walked)


@pytest.mark.parametrize(
    ("said", "status"),
    [({}, 400), ({"do": "same"}, 400), ({"do": "grants", "key": "X"}, 412), ({"do": "x"}, 400)],
)
def test_a_decision_about_nobody_is_refused(client: FlaskClient, said: dict[str, str], status: int):
    answer = post(client, "/inbox/records/", said, page="/inbox/records/")
    assert answer.status_code == status


def test_a_water_is_added_and_taken_in_one_step(client: FlaskClient, walked: Path):
    with open_survey(walked) as survey:
        message = next(
            row.identifier
            for row in messages.unsettled(survey)
            if message_page.whole_message(survey, row.identifier).photos
        )
    said = {
        "current": message,
        "do": "new-site",
        "new_name": "Teal Pan",
        "new_latitude": "53.91",
        "new_longitude": "21.7",
        "new_habitat": "pond",
    }
    assert post(client, "/inbox/settle", said, page=f"/inbox/{message}").status_code == 302
    with open_survey(walked) as survey:
        [made] = [one for one in evidence.sites(survey) if one.locality == "Teal Pan"]
        shown = message_page.whole_message(survey, message).photos
    assert (made.habitat, made.private, made.decimal_latitude) == ("pond", False, 53.91)
    assert {p.place.locality for p in shown if p.place} == {"Teal Pan"}
    assert (
        post(client, "/inbox/settle", said, page=f"/inbox/{message}").status_code == 400
    )  # it is called so already


@pytest.mark.parametrize(
    ("name", "latitude", "longitude"),
    [
        ("", 53.9, 21.7),
        ("  ", 53.9, 21.7),
        ("Teal Pan", None, 21.7),
        ("Teal Pan", 91.0, 21.7),
        ("Teal Pan", 53.9, float("nan")),
        ("heron mere", 53.9, 21.7),
    ],
)
def test_a_water_without_name_or_point_is_not_added(
    survey: Survey, name: str, latitude: float | None, longitude: float | None
):
    before = evidence.sites(survey)
    with pytest.raises(Exception, match=r"needs|called so"):
        add_site(survey, name, latitude, longitude, by="Ada Moor", now=NOW)
    assert evidence.sites(survey) == before
