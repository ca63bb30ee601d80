"""The coordinator's room as the browser asks it: what is listed, shown, marked and settled."""

from __future__ import annotations

import html
import re
from pathlib import Path
from typing import get_args

import pytest
from desk.desks import come_in, desk_of, ended, post, seen, token_of
from flask.testing import FlaskClient
from tests_support import DEMO, NOW, dump

from triage.desk.inbox import OFFERS, clock_difference
from triage.desk.work import BusyError
from triage.errors import UnknownError
from triage.inbox import FIXES, NeedKind
from triage.pipeline import consents, correct, inbox, message_page, persons, undo
from triage.store import messages, originals, people
from triage.store.connection import Survey, create_survey, open_survey


def text_of(client: FlaskClient, path: str) -> str:
    answer = client.get(path, follow_redirects=True)
    assert answer.status_code == 200
    return html.unescape(answer.get_data(as_text=True))


def first_open(folder: Path, need: str = "") -> str:
    with open_survey(folder) as survey:
        return next(
            m.identifier
            for group in message_page.open_messages(survey)
            for sender in group.senders
            for m in sender.messages
            if need in ("", group.need)
        )


def decide(client: FlaskClient, current: str, do: str, **fields: str):
    said = {"current": current, "do": do, **fields}
    return post(client, "/inbox/settle", said, page=f"/inbox/{current}")


def state_of(folder: Path, message: str) -> str:
    with open_survey(folder) as survey:
        return messages.find(survey, message).state


def test_every_need_has_its_words_and_its_decision():
    assert tuple(FIXES) == get_args(NeedKind)
    assert set(OFFERS) == {*FIXES, "open", "waiting", "settled", "set aside"}


def test_the_list_holds_every_unsettled_message_once(survey: Survey):
    listed = [
        m.identifier
        for group in message_page.open_messages(survey)
        for sender in group.senders
        for m in sender.messages
    ]
    assert listed
    assert sorted(listed) == sorted(m.identifier for m in messages.unsettled(survey))


def test_a_long_list_shows_what_lies_around_the_message_and_counts_all(survey: Survey):
    whole = message_page.open_messages(survey)
    every = [m.identifier for g in whole for s in g.senders for m in s.messages]
    assert [g.count for g in whole] == [sum(len(s.messages) for s in g.senders) for g in whole]
    for here in (every[0], every[len(every) // 2], every[-1], "nothing"):
        part = message_page.open_messages(survey, around=here, most=3)
        listed = [m.identifier for g in part for s in g.senders for m in s.messages]
        start = every.index(listed[0])
        assert listed == every[start : start + 3]
        assert here in listed or here not in every
        counts = {g.need: g.count for g in whole}
        assert all(g.count == counts[g.need] for g in part)


def test_the_words_that_a_place_was_read_from_are_marked(client: FlaskClient, walked: Path):
    with open_survey(walked) as survey:
        marked = [
            (row.identifier, piece.text)
            for row in messages.every(survey)
            for layer in message_page.whole_message(survey, row.identifier).layers
            for piece in layer.text
            if piece.mark == "place"
        ]
    assert marked
    message, words = marked[0]
    assert f'<mark title="place read from these words">{words}</mark>' in text_of(
        client, f"/inbox/{message}"
    )


def test_a_site_is_chosen_by_its_name(client: FlaskClient, walked: Path):
    message = first_open(walked)
    decide(client, message, "site", site="alder pool")
    with open_survey(walked) as survey:
        shown = message_page.whole_message(survey, message).photos
        assert all(p.place and p.place.source == "coordinator" for p in shown)
        assert {p.place.locality for p in shown if p.place} <= {"Alder Pool"}


def test_a_day_is_taken_for_every_photo(client: FlaskClient, walked: Path):
    message = first_open(walked)
    decide(client, message, "date", date="2026-06-05")
    with open_survey(walked) as survey:
        shown = message_page.whole_message(survey, message).photos
        assert {p.time.event_date for p in shown if p.time} <= {"2026-06-05"}


@pytest.mark.parametrize(
    ("do", "fields"),
    [
        ("site", {}),
        ("site", {"site": "No Such Water"}),
        ("date", {"date": "yesterday"}),
        ("aside", {"aside": "  "}),
        ("preview", {"really": ""}),
        ("dance", {}),
        ("", {}),
    ],
)  # fmt: skip
def test_a_decision_that_lacks_a_word_changes_nothing(client, walked, do, fields):
    message = first_open(walked)
    before = state_of(walked, message)
    answer = decide(client, message, do, **fields)
    assert answer.status_code == 400
    assert answer.json["next_step"]
    assert state_of(walked, message) == before


def test_several_messages_are_settled_at_once_and_taken_back(client: FlaskClient, walked: Path):
    with open_survey(walked) as survey:
        two = [m.identifier for m in messages.unsettled(survey)][:2]
    decide(client, two[0], "aside:not from this survey", message=two[1])
    assert [state_of(walked, one) for one in two] == ["set aside", "set aside"]
    number = re.search(r'name="number" value="(\d+)"', text_of(client, f"/inbox/{two[0]}"))
    assert number is not None
    assert post(client, "/inbox/undo", {"number": number.group(1)}).status_code == 302
    assert "open" in [state_of(walked, one) for one in two]


def test_a_water_added_in_the_inbox_leaves_nothing_once_it_is_taken_back(
    client: FlaskClient, walked: Path
):
    before = dump(walked)
    place = {"new_name": "Willow End", "new_latitude": "53.85", "new_longitude": "21.6"}
    decide(client, first_open(walked), "new-site", **place)
    with open_survey(walked) as survey:
        newest = survey.column("select id from actions order by id desc limit 2")
    for number in newest:  # what was decided with it, then the water
        assert post(client, "/inbox/undo", {"number": str(number)}).status_code == 302
    assert dump(walked) == before


def with_reply_address(folder: Path) -> None:
    settings = folder / "survey.toml"
    text = settings.read_text(encoding="utf-8")
    address = 'reply_address = "linnet@example.org"'
    settings.write_text(text.replace('reply_address = ""', address), encoding="utf-8")


def test_a_question_is_shown_edited_and_saved_and_never_sent(client: FlaskClient, walked: Path):
    with_reply_address(walked)
    message = first_open(walked)
    where = decide(client, message, "ask:place").headers["Location"]
    assert state_of(walked, message) == "waiting"
    assert "never sent" in text_of(client, where)
    code = where.split("?")[0].rpartition("/")[2]
    words = {"words": "Dear friend,\nwhich water — the mill's?\n"}
    post(client, f"/letter/{code}", words, page=f"/letter/{code}")
    assert "which water — the mill's?" in text_of(client, f"/letter/{code}")
    file = client.get(f"/letter/{code}.eml", buffered=True)
    assert file.mimetype == "message/rfc822"
    assert "attachment" in file.headers["Content-Disposition"]
    assert b"To:" in file.data
    assert code.encode() in file.data  # the mark by which the answer is recognised stays


def test_a_letter_of_another_name_is_no_path(client: FlaskClient):
    for code in ("..%2f..%2fsurvey", "....survey.toml", "Q"):
        assert client.get(f"/letter/{code}").status_code == 404


def test_markup_in_a_mail_is_shown_as_text(tmp_path: Path):
    hostile = tmp_path / "hostile.eml"
    hostile.write_bytes(
        b"From: \"<img src=x onerror=alert(1)>\" <a@example.org>\r\nTo: b@example.org\r\n"
        b"Subject: <script>alert(1)</script>\r\nDate: Fri, 5 Jun 2026 10:00:00 +0200\r\n"
        b"Message-ID: <hostile@example.org>\r\nContent-Type: multipart/mixed; boundary=b\r\n\r\n"
        b"--b\r\nContent-Type: text/plain\r\n\r\n</p><script>alert(2)</script> javascript:x()\r\n"
        b"--b\r\nContent-Type: image/svg+xml; name=\"<b>.svg\"\r\n\r\n"
        b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(3)'/>\r\n"
        b"--b\r\nContent-Type: text/html; name=page.html\r\n"
        b"Content-Disposition: attachment; filename=page.html\r\n\r\n"
        b"<script>alert(4)</script>\r\n--b--\r\n"
    )  # fmt: skip
    folder = tmp_path / "survey"
    create_survey(folder)
    client = come_in(desk_of(folder))
    with hostile.open("rb") as file:
        assert (
            post(client, "/arrivals/drop", {"files": [(file, "../../hostile.eml")]}).status_code
            == 200
        )
    assert ended(client).what == "done"
    page = client.get("/inbox/", follow_redirects=True).get_data(as_text=True)
    assert "alert(1)" in page
    for markup in (
        "<script>alert",
        "<img src=x",
        "<svg xmlns='http",
        "onload='alert",
        'href="javascript',
    ):
        assert markup not in page
    assert [p.name for p in tmp_path.iterdir() if p.name not in ("hostile.eml", "survey")] == []


def test_what_is_dropped_is_received_and_examined_with_progress(tmp_path: Path, small_inbox: Path):
    folder = tmp_path / "survey"
    create_survey(folder)
    client = come_in(desk_of(folder))
    assert "No mail yet" in text_of(client, "/inbox/")
    photo = next((DEMO / "photos").glob("*.jpg"), None) or next((DEMO / "photos").iterdir())
    with photo.open("rb") as file:
        assert post(client, "/arrivals/drop", {"files": [(file, photo.name)]}).json == {"files": 1}
    ended(client)
    told = client.get("/arrivals/progress")
    assert told.mimetype == "text/event-stream"
    assert "1 photo examined" in told.get_data(as_text=True)
    with open_survey(folder) as survey:
        assert messages.counts(survey)[0] == 1


def test_a_drop_without_this_pages_token_is_refused_before_it_is_kept(client: FlaskClient):
    token_of(client)
    answer = client.post(
        "/arrivals/drop", data={"files": []}, headers={"Origin": "http://localhost"}
    )
    assert answer.status_code == 403


def test_work_that_was_stopped_goes_on_where_it_was(tmp_path: Path, small_inbox: Path):
    folder = tmp_path / "survey"
    create_survey(folder)
    client = desk_of(folder)
    work = client.application.extensions["work"]
    work.begin([small_inbox])
    with pytest.raises(BusyError):  # one piece of work at a time
        work.begin([small_inbox])
    work.stop()
    assert ended(client).what == "stopped"
    assert work.wait(work.stand().number, 0.05) == work.stand()  # nothing more happens
    work.begin([small_inbox])
    assert ended(client).what == "done"
    with open_survey(folder) as survey:
        assert messages.counts(survey)[0] > 10


def test_a_clock_is_corrected_after_it_was_shown_what_changes(client: FlaskClient, walked: Path):
    with open_survey(walked) as survey:
        every = [message_page.whole_message(survey, m.identifier) for m in messages.every(survey)]
    whole = next(
        w
        for w in every
        if w.first_clock and not any(c.source == "gps clock" for p in w.photos for c in p.times)
    )
    message, shown = whole.message.identifier, whole.first_clock
    really = f"{shown[:11]}05{shown[13:16]}"  # at five in the morning
    where = decide(client, message, "preview", really=really).headers["Location"]
    assert really.replace("T", " ") in text_of(client, where)
    decide(client, message, f"clock:{where.rpartition('=')[2]}")
    with open_survey(walked) as survey:
        photo = message_page.whole_message(survey, message).photos[0]
        assert photo.time is not None
        assert photo.time.event_date.startswith(really)


def test_a_difference_of_clocks_needs_two_times():
    assert clock_difference("2026-06-20T14:00", "2026-06-20T15:00") == 3600
    for really in ("", "soon", "2026-13-01T00:00"):
        with pytest.raises(UnknownError):
            clock_difference("2026-06-20T14:00", really)


def test_now_is_the_moment_of_the_tests(client: FlaskClient):
    assert client.application.config["NOW"]() == NOW


def test_a_mail_that_names_another_photographer_is_settled_with_the_name(
    client: FlaskClient, walked: Path
):
    with open_survey(walked) as survey:
        survey.connection.execute(
            "update envelopes set text = 'My friend Ida Reed took it.' where number = 0"
            " and message_id = (select message_id from appearances order by id limit 1)"
        )
        survey.connection.execute("update messages set state_due = 1")
        inbox.settle_states(survey, now=NOW)
    current = first_open(walked, "photographer")
    page = text_of(client, f"/inbox/{current}")
    assert "the mail says: 'My friend Ida Reed took it.'" in page
    assert 'value="Ida Reed"' in page
    assert "Ida Reed, new to the survey" in page
    with open_survey(walked) as survey:
        name = next(one.name for one in people.all_people(survey) if " " in one.name)
        assert consents.likely(survey, name.upper()) == [name]
        assert name in consents.likely(survey, name.split()[0])
    refused = decide(client, current, "photographer", photographer="Ida Reed")
    assert "nobody in this survey is called so" in refused.get_data(as_text=True)
    decide(client, current, "photographer", photographer="Ida Reed", new_person="yes")
    assert "Ida Reed took" in text_of(client, "/inbox/records/")
    decide_record = {"key": code_of(walked, "Ida Reed"), "do": "said"}
    said = "You may publish my photos with my name."
    post(client, "/inbox/records/", decide_record | {"words": said}, page="/inbox/records/")
    assert "Ida Reed took" not in text_of(client, "/inbox/records/")


def code_of(folder: Path, name: str) -> str:
    with open_survey(folder) as survey:
        return next(one.code for one in people.all_people(survey) if one.name == name)


def test_a_wish_to_be_deleted_is_met_on_the_page_and_can_be_taken_back(walked: Path):
    with open_survey(walked) as survey:
        row = next(
            m for m in messages.every(survey) if persons.whom(survey, m.sender_address).photos
        )
        code = persons.whom(survey, row.sender_address).person.code
        survey.connection.execute(
            "update envelopes set text = 'Please delete all my photos.' where message_id = ?",
            (row.row,),
        )
        survey.connection.execute("update messages set state = 'open' where id = ?", (row.row,))
    client = come_in(desk_of(walked))
    page = text_of(client, f"/inbox/{row.identifier}")
    assert "--accept" not in page
    assert re.search(r"Withdraw \d+ photos? of ", page)
    assert f"/survey/people?whom={code}#forget" in page
    decide(client, row.identifier, "withdraw")
    assert "is left in any export" in text_of(client, f"/inbox/{row.identifier}")
    with open_survey(walked) as survey:
        held = persons.whom(survey, code).photos
        assert held
        assert correct.not_withdrawn(survey, held) == ()
    assert f'value="{code}" selected' in text_of(client, f"/survey/people?whom={code}")
    with open_survey(walked) as survey:
        undo.undo(survey, by="Ada Moor", now=NOW)
        assert correct.not_withdrawn(survey, held) == held
        assert None not in [originals.path_of(survey.originals, photo) for photo in held]
    gone = {"code": code, "sure": "yes", "photos": "yes"}
    gone["seen"] = seen(client, "/survey/people", "/survey/forget", {})
    assert post(client, "/survey/forget", gone).status_code == 200
    with open_survey(walked) as survey:
        assert None in [originals.path_of(survey.originals, photo) for photo in held]
