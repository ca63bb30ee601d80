"""A camera that was put right in one mail is asked about in its sender's others, not changed."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from mail_writing import letter, picture, take_in
from tests_support import NOW, dump, needs

from triage.cli import main
from triage.inbox import Settlement
from triage.pipeline import (
    correct,
    inbox,
    log,
    message_page,
    persons,
    photo_list,
    settle,
    standing,
    undo,
)
from triage.store import messages
from triage.store.connection import Survey, open_survey

YEAR, HOUR = 365 * 86_400.0, 3600.0
SAM, IDA = "Sam Ferry <sam.ferry@example.org>", "Ida Reed <ida.reed@example.org>"
ONE, TWO = ("Maker", "M-1", "007"), ("Maker", "M-1", "008")
HERE = "Seen at Heron Mere."


@pytest.fixture
def survey(walked: Path) -> Iterator[Survey]:
    """The walked survey without its own mails in the way."""
    with open_survey(walked) as opened:
        for entry in inbox.entries(opened):
            aside = Settlement(set_aside="not now")
            settle.settle(opened, [entry.message.identifier], aside, by="Before", now=NOW)
        yield opened


class Post:
    """Mails numbered in the order in which they come."""

    def __init__(self, survey: Survey, folder: Path) -> None:
        self.survey, self.folder, self.number = survey, folder, 0

    def brings(
        self,
        *taken: str,
        camera: tuple[str, ...] = ONE,
        sender: str = SAM,
        sent: str = "Mon, 20 Jul 2026 18:00:00 +0200",
        words: str = HERE,
        offset: str = "",
    ) -> str:
        """Receive a mail whose photos show these times; its identifier."""
        self.number += 1
        pictures = tuple(
            picture(self.number * 20 + seed, taken=one, camera=camera, offset=offset)
            for seed, one in enumerate(taken)
        )
        mail = letter(words, number=self.number, sender=sender, sent=sent, pictures=pictures)
        return take_in(self.survey, self.folder / "mails", [mail], now=NOW)[0]


@pytest.fixture
def post(survey: Survey, tmp_path: Path) -> Post:
    return Post(survey, tmp_path)


def put_right(survey: Survey, message: str, seconds: float = YEAR) -> None:
    said = Settlement(camera_offset_seconds=seconds)
    settle.settle(survey, [message], said, by="Co", now=NOW)


def decided(survey: Survey, message: str, **words: object) -> None:
    settle.settle(survey, [message], Settlement(**words), by="Co", now=NOW)  # type: ignore[arg-type]


def dates(survey: Survey, message: str) -> list[str]:
    return [row.event_date for row in photo_list.standing_photos(survey, [message])]


def state(survey: Survey, message: str) -> str:
    return messages.find(survey, message).state


def test_a_mail_that_settled_before_comes_back_with_the_correction_offered(survey, post):
    other = post.brings("2025:07:12 14:00:00", "2025:07:12 14:20:00")
    assert state(survey, other) == "settled"
    put_right(survey, post.brings("2025:07:14 12:00:00"))
    assert state(survey, other) == "open"
    (entry,) = inbox.entries(survey)
    assert [need.kind for need in entry.needs] == ["clock", "clock"]
    assert "other photos of this camera were a year behind" in entry.needs[0].text
    assert "2026-07-12 14:00:00 if this one was, too" in entry.needs[0].text
    assert entry.needs[0].fix.startswith("--take-offer for the same correction (+365d), or ")
    assert dates(survey, other) == ["2025-07-12T14:00:00", "2025-07-12T14:20:00"]
    decided(survey, other, take_offer=True)
    assert state(survey, other) == "settled"
    assert dates(survey, other) == ["2026-07-12T14:00:00", "2026-07-12T14:20:00"]
    assert {one.event_date[:4] for one in standing.sightings(survey)} == {"2026"}


def test_a_mail_that_comes_later_is_asked_about_too(survey, post):
    put_right(survey, post.brings("2025:07:14 12:00:00"))
    assert needs(survey, post.brings("2025:07:15 12:00:00")) == ["clock"]


def test_undo_takes_the_doubts_back_and_its_undo_brings_them_again(survey, post):
    other = post.brings("2025:07:12 14:00:00")
    put_right(survey, post.brings("2025:07:14 12:00:00"))
    undo.undo(survey, by="Co", now=NOW)
    assert state(survey, other) == "settled"
    assert needs(survey, other) == []
    undo.undo(
        survey,
        by="Co",
        now=NOW,
        number=log.log_of(survey, limit=1, reader="", blind=False)[0].number,
    )
    assert state(survey, other) == "open"


def test_an_offer_that_was_taken_can_be_taken_back(survey, post):
    other = post.brings("2025:07:12 14:00:00")
    put_right(survey, post.brings("2025:07:14 12:00:00"))
    decided(survey, other, take_offer=True)
    undo.undo(survey, by="Co", now=NOW)
    assert state(survey, other) == "open"
    assert dates(survey, other) == ["2025-07-12T14:00:00"]


@pytest.mark.parametrize(
    ("words", "leaves"),
    [
        ({"take_offer": True}, "2026-07-12T14:00:00"),
        ({"accept": True}, "2025-07-12T14:00:00"),
    ],
)
def test_the_same_decision_again_is_one_action(survey, post, walked, words, leaves):
    other = post.brings("2025:07:12 14:00:00")
    put_right(survey, post.brings("2025:07:14 12:00:00"))
    decided(survey, other, **words)
    before = dump(walked)
    decided(survey, other, **words)
    assert dump(walked) == before
    assert (state(survey, other), dates(survey, other)) == ("settled", [leaves])


def test_the_order_of_arrival_changes_nothing(survey, post):
    first = post.brings("2025:07:12 14:00:00")
    put_right(survey, post.brings("2025:07:13 12:00:00"))
    last = post.brings("2025:07:14 12:00:00")
    told = {
        entry.message.identifier: entry.needs[0].text.partition(": ")[2][:70]
        for entry in inbox.entries(survey)
    }
    assert set(told) == {first, last}
    assert len(set(told.values())) == 1


@pytest.mark.parametrize(
    ("more", "asked"),
    [
        ({}, True),
        ({"camera": ("Maker", "M-1")}, True),  # a program took the serial number out
        ({"camera": TWO}, False),
        ({"camera": ("Maker", "M-2", "007")}, False),
        ({"camera": ()}, False),
        ({"sender": IDA}, False),
        # A correction that would date a photo after its mail does not hold.
        ({"sent": "Sun, 12 Jul 2026 13:00:00 +0200"}, False),
        ({"words": f"{HERE} Taken on 12 July 2025."}, False),
        ({"words": f"{HERE} Taken on 12 July 2026."}, True),
        ({"offset": "+02:00"}, True),
    ],
)
def test_what_is_asked_and_what_is_not(survey, post, more, asked):
    other = post.brings("2025:07:12 14:00:00", **more)
    before = needs(survey, other)
    put_right(survey, post.brings("2025:07:14 12:00:00"))
    told = [need.text for entry in inbox.entries(survey) for need in entry.needs]
    assert any("other photos of this camera" in text for text in told) == asked
    if not asked:
        assert needs(survey, other) == before


def test_a_clock_that_was_called_right_is_believed_from_then_on(survey, post):
    put_right(survey, post.brings("2025:06:01 12:00:00"))
    between = post.brings("2026:06:20 12:00:00", sent="Wed, 1 Sep 2027 12:00:00 +0200")
    assert needs(survey, between) == ["clock"]
    decided(survey, between, accept=True)
    assert dates(survey, between) == ["2026-06-20T12:00:00"]
    later = post.brings("2026:06:25 12:00:00", sent="Wed, 1 Sep 2027 12:00:00 +0200")
    assert state(survey, later) == "settled"
    earlier = post.brings("2025:06:10 12:00:00", sent="Wed, 1 Sep 2027 12:00:00 +0200")
    assert needs(survey, earlier) == ["clock"]


def test_of_two_corrections_the_nearer_on_the_cameras_own_clock_is_offered(survey, post):
    put_right(survey, post.brings("2025:06:01 12:00:00"), YEAR)
    put_right(survey, post.brings("2026:06:20 12:00:00"), HOUR)
    decided(survey, post.brings("2025:06:05 12:00:00"), take_offer=True)
    near = post.brings("2026:06:22 12:00:00")
    decided(survey, near, take_offer=True)
    assert dates(survey, near) == ["2026-06-22T13:00:00"]


def test_the_newest_correction_of_a_mail_is_the_one_that_is_offered(survey, post):
    wrong = post.brings("2025:07:14 12:00:00")
    other = post.brings("2025:07:12 14:00:00")
    put_right(survey, wrong, HOUR)
    put_right(survey, wrong, YEAR)
    decided(survey, other, take_offer=True)
    assert dates(survey, other) == ["2026-07-12T14:00:00"]


def test_what_a_person_accepted_before_comes_back_once(survey, post):
    words = f"{HERE} There were two of them, a male and a female."
    other = post.brings("2025:07:12 14:00:00", words=words)
    assert needs(survey, other) == ["several animals"]
    decided(survey, other, accept=True)
    put_right(survey, post.brings("2025:07:14 12:00:00"))
    assert (state(survey, other), needs(survey, other)) == ("open", ["clock"])
    decided(survey, other, accept=True)
    assert state(survey, other) == "settled"


def test_what_was_set_aside_or_dated_by_a_person_stays(survey, post):
    aside, dated = post.brings("2025:07:12 14:00:00"), post.brings("2025:07:13 14:00:00")
    decided(survey, aside, set_aside="a drawing")
    decided(survey, dated, date="2026-07-10")
    put_right(survey, post.brings("2025:07:14 12:00:00"))
    assert (state(survey, aside), state(survey, dated)) == ("set aside", "settled")
    assert dates(survey, dated) == ["2026-07-10"]


def test_two_addresses_of_one_person_are_one_senders_until_they_are_parted(survey, post):
    other = post.brings("2025:07:12 14:00:00", sender=IDA)
    put_right(survey, post.brings("2025:07:14 12:00:00"))
    assert state(survey, other) == "settled"
    persons.join(survey, "sam.ferry@example.org", "ida.reed@example.org", by="Co", now=NOW)
    assert needs(survey, other) == ["clock"]
    undo.undo(survey, by="Co", now=NOW)
    assert state(survey, other) == "settled"


def test_whose_photo_it_is_said_to_be_has_the_camera(survey, post):
    other = post.brings("2025:07:12 14:00:00", sender=IDA)
    wrong = post.brings("2025:07:14 12:00:00")
    put_right(survey, wrong)
    (row,) = photo_list.standing_photos(survey, [wrong])
    correct.correct(survey, row.photo, field="photographer", value="Ida Reed", by="Co", now=NOW)
    assert needs(survey, other) == ["clock"]
    undo.undo(survey, by="Co", now=NOW)
    assert state(survey, other) == "settled"


def test_the_command_line_and_the_page_offer_it(survey, post, walked, capsys):
    other = post.brings("2025:07:12 14:00:00")
    wrong = post.brings("2025:07:14 12:00:00")
    line = ["settle", wrong[:10], "--correct-camera", "+365d", "--survey", str(walked)]
    assert main(line) == 0
    assert "1 other message has photos of this camera" in capsys.readouterr().err
    whole = message_page.whole_message(survey, other)
    assert whole.offers == ("the same correction (+365d)",)
    assert main(["settle", other[:10], "--take-offer", "--survey", str(walked)]) == 0
    assert "now stands: p1-0.jpg: 2026-07-12 14:00:00 (camera clock)" in capsys.readouterr().out


def test_of_two_cameras_in_a_mail_the_one_that_gps_shows_wrong_is_corrected(survey, tmp_path):
    """Its two photos have fixes of their own, a year and two hours later by UTC than its clock."""
    wrong = [
        picture(seed, taken=taken, camera=ONE, offset="", point=(53.90001, 21.7), fixed_at=fixed)
        for seed, taken, fixed in (
            (301, "2025:07:12 14:00:00", "2026:07:12 12:00:00"),
            (302, "2025:07:12 14:09:00", "2026:07:12 12:09:00"),
        )
    ]
    right = picture(303, taken="2026:07:12 15:00:00", camera=TWO)
    sent = "Mon, 20 Jul 2026 18:00:00 +0200"
    mail = letter(HERE, number=9, sent=sent, pictures=(*wrong, right))
    (message,) = take_in(survey, tmp_path / "mails", [mail], now=NOW)
    assert needs(survey, message)[:2] == ["clock", "clock"]
    put_right(survey, message)
    assert [one[:16] for one in dates(survey, message)] == [
        "2026-07-12T14:00", "2026-07-12T14:09", "2026-07-12T15:00",
    ]  # fmt: skip
    mail = letter(
        HERE, number=10, sent=sent,
        pictures=(picture(304, taken="2026:07:13 15:00:00", camera=TWO),),
    )  # fmt: skip
    (other,) = take_in(survey, tmp_path / "mails", [mail], now=NOW)
    assert needs(survey, other) == []


@pytest.mark.parametrize(
    ("typed", "offered"),
    [
        ("2026-07-14", "2026-07-12T14:00:00"),  # a year behind, in whole days
        ("2026-07-14T12:00", "2026-07-12T14:00:00"),
        ("2025-07-14T13:00", "2025-07-12T15:00:00"),  # an hour, to the minute
        ("2025-07-14T11:00:07+02:00", "2025-07-12T13:00:00"),
        ("2025-07-14", ""),  # the clock's own day
        ("2025-07-14T12:00", ""),  # the clock's own time
        ("2026-07-13/2026-07-14", ""),  # some day of two
    ],
)
def test_a_typed_day_or_time_is_a_word_on_the_clock_that_it_contradicts(
    survey, post, typed, offered
):
    other = post.brings("2025:07:12 14:00:00")
    wrong = post.brings("2025:07:14 12:00:07")
    decided(survey, wrong, date=typed)
    assert dates(survey, wrong) == [typed]
    assert state(survey, other) == ("open" if offered else "settled")
    if offered:
        decided(survey, other, take_offer=True)
        assert dates(survey, other) == [offered]
        undo.undo(survey, by="Co", now=NOW)
        undo.undo(survey, by="Co", now=NOW)
        assert (state(survey, other), dates(survey, other)) == ("settled", ["2025-07-12T14:00:00"])


def test_a_day_that_no_clock_contradicts_looks_at_no_other_mail(survey, post, monkeypatch):
    post.brings("2025:07:12 14:00:00")
    looked_at: list[int] = []
    monkeypatch.setattr(
        "triage.pipeline.claims.have_camera_doubted", lambda _, row: looked_at.append(row)
    )
    settled = post.brings("2025:07:14 12:00:07")
    looked_at.clear()
    decided(survey, settled, date="2025-07-14")
    assert looked_at == []
    decided(survey, settled, date="2026-07-14")
    assert len(looked_at) == 1


def test_a_day_typed_for_a_whole_outing_says_nothing_of_its_clock(survey, post):
    other = post.brings("2025:07:12 14:00:00")
    decided(survey, post.brings("2025:07:13 12:00:00", "2025:07:14 12:00:00"), date="2026-07-14")
    assert state(survey, other) == "settled"


def test_a_time_typed_for_one_photo_asks_of_the_others_of_its_mail(survey, post):
    both = post.brings("2025:07:14 12:00:00", "2025:07:14 12:20:00")
    first, _ = photo_list.standing_photos(survey, [both])
    correct.correct(survey, first.photo, field="time", value="2026-07-14T12:00", by="Co", now=NOW)
    assert needs(survey, both) == ["clock"]
    undo.undo(survey, by="Co", now=NOW)
    assert needs(survey, both) == []


def test_a_single_fix_that_was_taken_is_carried_too(survey, tmp_path):
    """One fix, five hours later by UTC than the clock: of one photo, no camera is corrected."""
    sent = "Mon, 20 Jul 2026 18:00:00 +0200"
    fixed = picture(
        310, taken="2026:07:12 09:05:10", camera=ONE, offset="", point=(53.9021, 21.6954),
        fixed_at="2026:07:12 12:05:10",
    )  # fmt: skip
    plain = picture(311, taken="2026:07:13 10:00:00", camera=ONE, offset="")
    mails = [
        letter(HERE, number=20 + number, sent=sent, pictures=(one,))
        for number, one in enumerate((fixed, plain))
    ]
    wrong, other = take_in(survey, tmp_path / "mails", mails, now=NOW)
    assert (needs(survey, wrong), needs(survey, other)) == (["clock"], [])
    decided(survey, wrong, take_offer=True)
    assert needs(survey, other) == ["clock"]
    decided(survey, other, take_offer=True)
    assert dates(survey, other) == ["2026-07-13T15:00:00"]
