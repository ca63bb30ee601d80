"""What a page offers can be done on it, says what it does, and stands there once."""

from __future__ import annotations

import html
import io
import re
from email.message import EmailMessage
from pathlib import Path
from typing import Any

import pytest
from desk.desks import come_in, desk_of, ended, post
from flask.testing import FlaskClient
from PIL import Image
from tests_support import DEMO, NOW

from triage.demo.walk import import_tables
from triage.pipeline import edit, inbox
from triage.store import people
from triage.store.connection import create_survey, open_survey


def mail(words: str, *, picture: bool = True) -> bytes:
    """A mail of one person, with a photo that says neither when nor where."""
    made = EmailMessage()
    made["From"], made["To"] = "Nell Reedwater <nell@example.org>", "linnet@example.org"
    made["Date"], made["Subject"] = "Sat, 20 Jun 2026 18:00:00 +0200", "for you"
    made["Message-ID"] = "<plain@example.org>"
    made.set_content(words)
    if picture:
        held = io.BytesIO()
        Image.linear_gradient("L").convert("RGB").save(held, "JPEG")
        made.add_attachment(held.getvalue(), maintype="image", subtype="jpeg", filename="p.jpg")
    return made.as_bytes()


def received(folder: Path, content: bytes, *, animal: bool = True) -> tuple[FlaskClient, str]:
    """The desk of a survey with the demo's sites and this mail, and the mail's page."""
    create_survey(folder)
    with open_survey(folder) as survey:
        import_tables(survey, DEMO, now=NOW)
    client = come_in(desk_of(folder))
    post(client, "/arrivals/drop", {"files": [(io.BytesIO(content), "a.eml")]})
    assert ended(client).what == "done"
    if animal:
        say_that_there_is_one(folder)
    answer: Any = client.get("/inbox/", follow_redirects=True)
    return client, html.unescape(answer.get_data(as_text=True))


def say_that_there_is_one(folder: Path) -> None:
    with open_survey(folder) as survey:
        [photo] = survey.connection.execute("select photo from appearances").fetchone()
        edit.add_animal(survey, photo, by="Ada Moor", now=NOW)


def test_a_day_that_may_be_two_is_offered_as_both_and_may_be_left_open(tmp_path: Path):
    _, page = received(tmp_path / "s", mail("Date: 05/06/2026\nPlace: Alder Pool"))
    assert 'value="date:2026-06-05"' in page
    assert 'value="date:2026-05-06"' in page
    assert 'value="date:2026-05-06/2026-06-05"' not in page
    assert "Leave it open: 2026-05-06 to 2026-06-05" in page
    assert "The date is right" not in page


def test_a_place_that_is_only_mentioned_is_offered_once(tmp_path: Path):
    words = "Date: 2026-06-14\nI think people call it the Alder Pool, near the old mill."
    _, page = received(tmp_path / "s", mail(words))
    assert "Take Alder Pool" in page
    assert 'value="site:Alder Pool"' not in page
    decision, _, others = page.partition("<summary>Other decisions")
    assert "The place is right" not in decision
    assert "The place is right" in others
    assert "The circle is the place as it stands" in page


def test_words_only_say_what_is_on_record_and_where_they_are_decided(tmp_path: Path):
    words = "You may publish all my photos under CC BY 4.0 and with my name."
    client, page = received(tmp_path / "s", mail(words, picture=False), animal=False)
    assert ">Words only</h2>" in page
    assert "<li>words only</li>" not in page
    assert "photos wait for a yes before they are published, the name may not be told" in page
    assert 'href="/inbox/records/">Their words about it wait to be seen' in page
    state = html.unescape(client.get("/survey/").get_data(as_text=True))
    assert "person Nell Reedwater</b>: seems to grant" in state
    assert "triage people" not in state


@pytest.mark.parametrize("words", ["Only show them after you asked me, please."])
def test_the_state_of_the_survey_offers_what_the_desk_can_do(tmp_path: Path, words: str):
    client, _ = received(tmp_path / "s", mail(words, picture=False), animal=False)
    with open_survey(tmp_path / "s") as survey:
        assert any(one.unclear for one in people.all_people(survey))
    state = html.unescape(client.get("/survey/").get_data(as_text=True))
    assert '<a href="/inbox/records/">Decide</a>' in state
    assert "triage people" not in state


def test_an_exuvia_is_called_seen_and_its_label_is_one_click_away(tmp_path: Path):
    folder = tmp_path / "s"
    client, _ = received(folder, mail("Alder Pool, 2026-06-14"), animal=False)
    with open_survey(folder) as survey:
        survey.connection.execute("update measurements set kind = 'exuvia'")
        survey.connection.execute("update messages set state_due = 1")
        inbox.settle_states(survey, now=NOW)
    page = client.get("/inbox/", follow_redirects=True).get_data(as_text=True)
    assert "Seen: no adult in it" in page
    assert "An adult is in it: give it its place in the queue" in page
    assert '<a href="/jars/">type its label in</a>' in page


def test_a_garden_is_offered_as_a_private_water_and_no_other_by_a_key(tmp_path: Path):
    words = "Date: 20.06.2026\nPlace: 53.9023, 21.6951\n\nIn my garden."
    _, shown = received(tmp_path / "s", mail(words))
    assert "Perhaps a home, or a place to keep" in shown
    assert 'name="new_private" value="yes" checked' in shown
    assert 'for="new-name" data-digit=' in shown
    assert 'value="site:' not in shown


def later(client: FlaskClient, words: str) -> None:
    """A mail of words alone that the same person sends on the next day."""
    content = (
        "From: Nell Reedwater <nell@example.org>\r\nTo: linnet@example.org\r\n"
        "Date: Sun, 21 Jun 2026 18:00:00 +0200\r\nSubject: a slip\r\n"
        f"Message-ID: <later@example.org>\r\n\r\n{words}"
    )
    post(client, "/arrivals/drop", {"files": [(io.BytesIO(content.encode()), "b.eml")]})
    assert ended(client).what == "done"


def test_which_water_it_was_is_asked_of_the_mail_that_brought_the_photo(tmp_path: Path):
    client, page = received(tmp_path / "s", mail("What is this?"))
    likely = re.compile(r'value="ask:place" data-digit')
    assert likely.search(page)
    later(client, "I must correct my last mail: it was not at Alder Pool but at Heron Mere.")
    with open_survey(tmp_path / "s") as survey:
        [second] = [one for one in inbox.entries(survey) if one.message.subject == "a slip"]
    assert [need.kind for need in second.needs] == ["correction"]
    answer: Any = client.get(f"/inbox/{second.message.identifier}")
    page = answer.get_data(as_text=True)
    assert not likely.search(page)
    assert page.count('value="ask:place"') == 1  # it can be asked all the same


def test_words_only_lead_to_the_earlier_mail_that_they_may_correct(tmp_path: Path):
    client, _ = received(tmp_path / "s", mail("What is this?"))
    words = "Alder Pool, by the old willow."
    later(client, words)
    with open_survey(tmp_path / "s") as survey:
        entries = {one.message.subject: one for one in inbox.entries(survey)}
    first, second = entries["for you"], entries["a slip"]
    [need] = second.needs
    assert (need.kind, need.mails) == ("no photo", (first.message.identifier,))
    assert "they may correct an earlier mail" in need.text
    assert f"({first.message.identifier[:10]})" in need.fix
    assert words in second.words
    answer: Any = client.get(f"/inbox/{second.message.identifier}")
    page = html.unescape(answer.get_data(as_text=True))
    assert f'<a href="/inbox/{first.message.identifier}">for you, 2026-06-20</a>' in page
    assert words in page
