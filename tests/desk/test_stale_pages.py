"""A page that shows what is no longer so changes nothing: newer words are seen before they go."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from desk.conftest import CHROMIUM, Window, come_in_by_page, served, to_need
from desk.desks import come_in, desk_of, person_with_words, post, seen
from flask.testing import FlaskClient
from tests_support import NOW

from triage.inbox import Settlement
from triage.mail.consent import read_consent
from triage.pipeline import correct, drafts, jars, message_page, persons, settle, volunteer_letters
from triage.store import actions, consents, evidence, messages, people
from triage.store.connection import Survey, open_survey

LATER: dict[str, Any] = {"by": "Ben Holm", "now": NOW}


def unsettled(survey: Survey) -> list[str]:
    """Messages with photos that need somebody."""
    return [
        row.identifier
        for row in messages.unsettled(survey)
        if message_page.whole_message(survey, row.identifier).photos
    ]


def photo_of(survey: Survey, message: str) -> str:
    return message_page.whole_message(survey, message).photos[0].photo


def settled_by_another(survey: Survey, message: str) -> None:
    settle.settle(survey, [message], Settlement(date="2026-06-05"), **LATER)


def put_right_by_another(survey: Survey, message: str) -> None:
    correct.correct(survey, photo_of(survey, message), field="place", value="Alder Pool", **LATER)


def withheld_by_another(survey: Survey, message: str) -> None:
    correct.correct(
        survey, photo_of(survey, message), field="publication", value="withheld", **LATER
    )


@pytest.mark.parametrize(
    "meanwhile", [settled_by_another, put_right_by_another, withheld_by_another]
)
@pytest.mark.parametrize("do", ["accept", "date", "aside", "ask:place", "animal", "faces:cleared"])
def test_no_message_is_decided_as_it_was_shown_before(
    client: FlaskClient, walked: Path, meanwhile: Callable[[Survey, str], None], do: str
):
    with open_survey(walked) as survey:
        message = unsettled(survey)[0]
        photo = photo_of(survey, message)
    said = {"current": message, "do": do, "date": "2026-06-13", "aside": "a drawing"}
    said |= {"photo": photo, "seen": seen(client, f"/inbox/{message}", "/inbox/settle", said)}
    with open_survey(walked) as survey:
        meanwhile(survey, message)
        newest = actions.newest_number(survey)
    answer = post(client, "/inbox/settle", said)
    assert answer.status_code == 412
    assert "changed meanwhile" in answer.get_json()["what"]
    with open_survey(walked) as survey:
        assert actions.newest_number(survey) == newest


def test_a_ticked_message_that_another_decided_meanwhile_holds_up_all(
    client: FlaskClient, walked: Path
):
    with open_survey(walked) as survey:
        here, ticked = unsettled(survey)[:2]
    said: dict[str, Any] = {"current": here, "message": [ticked], "do": "aside", "aside": "no"}
    said["seen"] = seen(client, f"/inbox/{here}", "/inbox/settle", {"current": here})
    with open_survey(walked) as survey:
        settled_by_another(survey, ticked)
    assert post(client, "/inbox/settle", said).status_code == 412
    with open_survey(walked) as survey:
        assert "set aside" not in {messages.find(survey, one).state for one in (here, ticked)}


def test_a_decision_sent_again_since_its_answer_was_lost_is_taken_once(
    client: FlaskClient, walked: Path
):
    with open_survey(walked) as survey:
        message = unsettled(survey)[0]
    said = {"current": message, "do": "date", "date": "2026-06-05"}
    said["seen"] = seen(client, f"/inbox/{message}", "/inbox/settle", said)
    assert post(client, "/inbox/settle", said).status_code == 302
    with open_survey(walked) as survey:
        newest = actions.newest_number(survey)
    assert post(client, "/inbox/settle", said).status_code == 302
    with open_survey(walked) as survey:
        assert actions.newest_number(survey) == newest


@pytest.mark.parametrize(
    ("path", "page", "said"),
    [
        ("/inbox/records/", "/inbox/records/", {"do": "grants"}),
        ("/survey/consent-seen", "/survey/people", {}),
    ],
)
def test_words_that_came_meanwhile_are_not_taken_as_seen(
    client: FlaskClient, walked: Path, path: str, page: str, said: dict[str, str]
):
    code = person_with_words(walked)
    sent = {**said, "key" if "records" in path else "code": code}
    sent["seen"] = seen(client, page, path, sent)
    assert sent["seen"]
    with open_survey(walked) as survey, survey.transaction():
        person = people.find(survey, code)
        consents.add(survey, person.row, read_consent("You may print my photos on mugs."))
        consents.add(survey, person.row, read_consent("You may publish my photos under CC0."))
    assert post(client, path, sent).status_code == 412
    with open_survey(walked) as survey:
        assert people.find(survey, code).publish == "unstated"


@pytest.mark.parametrize("path", ["/survey/forget", "/survey/one-person"])
def test_nobody_is_forgotten_or_joined_as_another_than_the_page_showed(
    client: FlaskClient, walked: Path, path: str
):
    code = person_with_words(walked)
    with open_survey(walked) as survey:
        other, third = [one.addresses[0] for one in people.all_people(survey) if one.addresses][:2]
    sent = {"sure": "yes", "code": code, "first": "nell@example.org", "second": third}
    sent["seen"] = seen(client, "/survey/people", path, {})
    assert sent["seen"]
    with open_survey(walked) as survey:
        persons.join(survey, "nell@example.org", other, **LATER)
        newest = actions.newest_number(survey)
    assert post(client, path, sent).status_code == 412
    with open_survey(walked) as survey:
        assert actions.newest_number(survey) == newest
        assert other in people.find(survey, code).addresses
    sent["seen"] = seen(client, "/survey/people", path, {})
    assert post(client, path, sent).status_code in (200, 302)


def test_a_lot_that_was_named_meanwhile_is_not_named_over(client: FlaskClient, walked: Path):
    with open_survey(walked) as survey:
        lot = evidence.lots(survey)[0].catalog_number
    said = {"number": lot, "name": "Aeshna mixta", "identified_by": "Ada Moor"}
    said["seen"] = seen(client, f"/jars/lot?number={lot}", "/jars/lot", said)
    with open_survey(walked) as survey:
        jars.name_again(survey, lot, name="Aeshna grandis", identified_by="Ben Holm", **LATER)
    assert post(client, "/jars/lot", said).status_code == 412
    with open_survey(walked) as survey:
        assert jars.lot_of_number(survey, lot).scientific_name == "Aeshna grandis"


def test_a_season_letter_drafted_anew_keeps_the_words_that_were_typed(evening: Path):
    with open_survey(evening) as survey:
        for_all = "season-2026-for-all"
        volunteer_letters.season(survey, 2026, **LATER)
        drafted = drafts.letter(survey, for_all).words
        for words in ("Dear all,\nthank you!\n", "Dear friends,\nthank you!\n"):
            drafts.save_words(survey, for_all, words)
            volunteer_letters.season(survey, 2026, **LATER)
        assert drafts.letter(survey, for_all).words == drafted
        assert drafts.for_everybody(survey) == [for_all, f"{for_all}-1", f"{for_all}-2"]
        assert drafts.letter(survey, f"{for_all}-1").words == "Dear all,\nthank you!\n"
        assert drafts.sheet(survey, f"{for_all}-2").startswith(b"%PDF")
    page = come_in(desk_of(evening)).get("/survey/letters").get_data(as_text=True)
    assert "season 2026, earlier words 2" in page


@pytest.mark.system("chromium")
@pytest.mark.skipif(not CHROMIUM, reason="the browser chromium is not installed")
def test_two_who_change_one_letter_lose_no_word(evening: Path, window: Window):
    with served(evening) as place:
        one, other = window(), window()
        come_in_by_page(one, place, "/inbox/")
        to_need(one, "no place")
        one.locator("#decision button", has_text="Ask which water").click()
        one.wait_for_selector("#words")
        come_in_by_page(other, place, "/inbox/", "Ben Holm")
        other.goto(one.url)
        one.fill("#words", "Dear Sam,\nwhich water was it?\n")
        one.click("text=Save these words")
        one.wait_for_selector("text=Saved.")
        other.fill("#words", "Dear Sam,\nwas it the mere?\n")
        other.click("text=Save these words")
        other.wait_for_selector(".refused:has-text('changed meanwhile')")
        assert other.input_value("#words") == "Dear Sam,\nwas it the mere?\n"
        other.click("text=Load the page again")
        other.wait_for_selector("text=Changed meanwhile; without your words it says:")
        assert other.input_value("#words") == "Dear Sam,\nwas it the mere?\n"
        assert "which water was it?" in other.locator("main pre").inner_text()
        code = other.url.rpartition("/")[2].partition("?")[0]
        with open_survey(evening) as survey:
            assert "which water was it?" in drafts.letter(survey, code).words
        other.click("text=Save these words")
        other.wait_for_selector("text=Saved.")
        with open_survey(evening) as survey:
            assert "was it the mere?" in drafts.letter(survey, code).words
