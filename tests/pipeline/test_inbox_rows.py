"""Rows of the inbox carry the mail's words; wishes, lists, links and answers are told as such."""

from __future__ import annotations

import email
import io
from email import policy
from pathlib import Path

import pytest
from mail_writing import letter, picture, take_in
from pictures_made import scene
from PIL import Image
from tests_support import DEMO, NOW, needs

from triage.cli import main
from triage.demo.walk import import_tables
from triage.determinations import Statement
from triage.exports.release import prepare
from triage.inbox import Settlement
from triage.metadata.private_places import MAY_BE_PRIVATE
from triage.pipeline import (
    correct,
    determine,
    drafts,
    inbox,
    message_page,
    publish,
    settle,
    standing,
    tables,
    volunteer_letters,
)
from triage.store import messages, questions
from triage.store.connection import create_survey, open_survey

TAKEN = "2026:06:14 12:00:00"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    folder = tmp_path / "survey"
    create_survey(folder, title="Linnet Water Survey")
    return folder


@pytest.fixture
def survey(folder: Path):
    with open_survey(folder) as opened:
        import_tables(opened, DEMO, now=NOW)
        section = opened.settings.survey.model_copy(update={"reply_address": "linnet@example.org"})
        opened.settings = opened.settings.model_copy(update={"survey": section})
        yield opened


@pytest.mark.parametrize(
    ("text", "pictures", "headers", "found"),
    [
        ("Please delete my photos of last week.", 0, (), ["delete request"]),
        ("Two different ones, at Heron Mere.", 2, (), ["several animals"]),
        ("At Heron Mere. The first is a male, the second a female.", 2, (), ["several animals"]),
        ("Our summer news.", 1, (("List-Id", "Fen News <news.example.org>"),), ["newsletter"]),
        ("Our summer news.", 0, (("Precedence", "bulk"),), ["newsletter"]),
        ("Walks.", 1, (("List-Unsubscribe", "<https://example.org/u>"),), ["newsletter"]),
        ("Here it is: https://files.example.org/abc", 0, (), ["link"]),
        ("What did I see?", 0, (), ["no photo"]),
        ("Two views, at Heron Mere.", 2, (), []),
    ],
)  # fmt: skip
def test_a_message_is_called_what_it_is(survey, tmp_path, text, pictures, headers, found):
    brought = tuple(picture(20 + n, taken=f"2026:06:14 12:{n:02}:00") for n in range(pictures))
    mail = letter(text, number=1, pictures=brought, headers=headers)
    (message,) = take_in(survey, tmp_path / "mails", [mail], now=NOW)
    assert needs(survey, message) == found


def test_a_newsletter_makes_no_sighting_until_it_is_accepted(survey, tmp_path):
    mail = letter(
        "Seen at Heron Mere.", number=1, pictures=(picture(30, taken=TAKEN),),
        headers=(("List-Id", "Fen News <news.example.org>"),),
    )  # fmt: skip
    (message,) = take_in(survey, tmp_path / "mails", [mail], now=NOW)
    assert standing.sightings(survey) == []
    settle.settle(survey, [message], Settlement(accept=True), by="Co", now=NOW)
    assert [one.locality for one in standing.sightings(survey)] == ["Heron Mere"]


def test_a_garden_is_in_no_release_until_somebody_says_what_its_place_is(survey, tmp_path):
    mail = letter(
        "In my garden, at 53.9023, 21.6951.", number=1, pictures=(picture(33, taken=TAKEN),),
    )  # fmt: skip
    (message,) = take_in(survey, tmp_path / "mails", [mail], now=NOW)
    assert "private place" in needs(survey, message)
    (sighting,) = standing.sightings(survey)
    held = publish.content(survey, [sighting], standing.standing(survey))
    release = prepare(held, publish.policy(survey, internal=False))
    assert release.sighting_sensitivity[sighting.identifier].hidden  # for export and report alike
    tables.add_site(survey, "Reed garden", 53.9023, 21.6951, private=True, by="Co", now=NOW)
    settle.settle(survey, [message], Settlement(site="Reed garden"), by="Co", now=NOW)
    assert needs(survey, message) == []
    assert [one.locality for one in standing.sightings(survey)] == ["Reed garden"]


HOME = (53.9003, 21.7055)  # the demo's private garden pond


@pytest.mark.parametrize(
    ("text", "fix", "site", "asked", "hidden"),
    [
        ("In our garden.", (53.9300, 21.7000), "Heron Mere", True, True),  # a public water: no word
        ("In our garden.", HOME, "", False, True),  # known as private, guarded by itself
        ("In our garden.", HOME, "Heron Mere", True, True),
        ("Here it is.", HOME, "Heron Mere", True, True),  # its own fix is a garden's
        ("Here it is.", HOME, "", False, True),
        ("Here it is.", (53.9021, 21.6954), "Alder Pool", False, False),
        ("Not sure if the place should be shown.", (53.9300, 21.7000), "", True, True),
        ("In our garden.", (53.9300, 21.7000), "Quince Garden pond", False, True),
    ],
)
def test_a_public_water_makes_no_private_spot_public_in_silence(
    survey, tmp_path, text, fix, site, asked, hidden
):
    mail = letter(text, number=1, pictures=(picture(35, taken=TAKEN, point=fix),))
    (message,) = take_in(survey, tmp_path / "mails", [mail], now=NOW)
    if site:
        settle.settle(survey, [message], Settlement(site=site), by="Co", now=NOW)
    assert ("private place" in needs(survey, message)) is asked
    assert is_hidden(survey) is hidden
    if asked:
        settle.settle(survey, [message], Settlement(accept=True), by="Co", now=NOW)
        assert needs(survey, message) == []
        assert is_hidden(survey) is (fix == HOME and not site)


def is_hidden(survey) -> bool:
    """Whether a release withholds the place of the one sighting there is."""
    (sighting,) = standing.sightings(survey)
    held = publish.content(survey, [sighting], standing.standing(survey))
    release = prepare(held, publish.policy(survey, internal=False))
    return release.sighting_sensitivity[sighting.identifier].hidden


def test_a_public_place_corrected_later_asks_again_of_what_was_accepted(survey, tmp_path):
    mail = letter("Here it is.", number=1, pictures=(picture(35, taken=TAKEN, point=HOME),))
    (message,) = take_in(survey, tmp_path / "mails", [mail], now=NOW)
    settle.settle(survey, [message], Settlement(accept=True), by="Co", now=NOW)
    (sighting,) = standing.sightings(survey)
    correct.correct(survey, sighting.photos[0], field="place", value="Heron Mere", by="Co", now=NOW)
    assert needs(survey, message) == ["place doubt", "private place"]
    assert is_hidden(survey)


def test_an_answer_that_keeps_the_place_is_heard_of_the_mail_it_answers(survey, tmp_path):
    mail = letter("One for you.", number=1, pictures=(picture(36, taken=TAKEN),))
    (asked,) = take_in(survey, tmp_path / "mails", [mail], now=NOW)
    settle.settle(survey, [asked], Settlement(ask="place"), by="Co", now=NOW)
    code = questions.live(survey)[0].code
    reply = letter(
        "At Heron Mere. Please do not publish the place.", number=2, subject="Re: your photo",
        headers=(("In-Reply-To", f"<{code}.question@example.org>"),),
    )  # fmt: skip
    take_in(survey, tmp_path / "mails", [reply], now=NOW)
    assert "private place" in needs(survey, asked)
    assert is_hidden(survey)


def test_words_without_a_photo_that_keep_a_place_hold_the_earlier_mails_at_once(survey, tmp_path):
    first = letter("At Heron Mere, here it is.", number=1, pictures=(picture(37, taken=TAKEN),))
    later = letter(
        "Please do not publish the place of my photo.", number=2,
        sent="Mon, 15 Jun 2026 18:00:00 +0200",
    )  # fmt: skip
    settled, asked = take_in(survey, tmp_path / "mails", [first, later], now=NOW)
    assert needs(survey, settled) == []
    assert needs(survey, asked) == ["private place"]
    assert is_hidden(survey)
    settle.settle(survey, [asked], Settlement(accept=True), by="Co", now=NOW)
    assert not is_hidden(survey)


@pytest.mark.parametrize(
    ("outer", "inner", "asked"),
    [
        ("My friend asked me to pass this on.", "Seen today at Heron Mere.", False),
        ("Here it is.", "Seen today at Heron Mere. My brother took the photo.", True),
        ("This one is from Alder Pool. Her count is below.", "We counted 14 at Heron Mere.", True),
        ("At Alder Pool today, see below for the others.", "See you at the meeting.", True),
        ("Heute am Alder Pool. Unten noch Mias Liste.", "Wir haben 14 gezählt.", True),
        ("Mia took this at Alder Pool.", "Seen today at Heron Mere.", False),
        ("My picture, at Alder Pool today. Mia's list is below.", "At Heron Mere: 14.", False),
        ("Sent to me by Mia, for your survey.", "Seen today at Heron Mere.", False),
    ],
)
def test_who_passes_a_photo_on_tells_nothing_of_whose_it_is(survey, tmp_path, outer, inner, asked):
    """The forwarded mail names its sender: the photo is theirs."""
    forwarded = (
        f"{outer}\n\n-------- Forwarded Message --------\nSubject: a hawker\n"
        "Date: Sun, 14 Jun 2026 17:00:00 +0200\nFrom: Mia Nolte <mia.nolte@example.org>\n"
        f"To: Sam Ferry <sam.ferry@example.org>\n\n{inner}\n"
    )
    mail = letter(
        forwarded, number=1, subject="Fwd: a hawker", pictures=(picture(42, taken=TAKEN),)
    )
    (message,) = take_in(survey, tmp_path / "mails", [mail], now=NOW)
    assert ("photographer" in needs(survey, message)) is asked


def test_the_words_above_a_forwarded_mail_stand_on_the_row_with_their_author(survey, tmp_path):
    forwarded = (
        "At Alder Pool today.\n\n-------- Forwarded Message --------\nSubject: boats\n"
        "Date: Sun, 14 Jun 2026 17:00:00 +0200\nFrom: Mia Nolte <mia.nolte@example.org>\n"
        "To: Sam Ferry <sam.ferry@example.org>\n\nSee you at the meeting.\n"
    )
    mail = letter(forwarded, number=1, subject="Fwd: boats", pictures=(picture(43, taken=TAKEN),))
    take_in(survey, tmp_path / "mails", [mail], now=NOW)
    (entry,) = inbox.entries(survey)
    (need,) = [one for one in entry.needs if one.kind == "photographer"]
    assert "'Alder Pool, today'" in need.text
    assert need.word == "Sam Ferry"
    assert need.fix.startswith("--photographer 'Sam Ferry'")
    assert need.fix.endswith("--accept if whoever wrote the forwarded mail took them")


@pytest.mark.parametrize(
    ("answer", "doubts"),
    [
        ("At Alder Pool.", ""),
        ("At Alder Pool. My brother took the photo.", "an answer about it is not read yet"),
        ("At Alder Pool, I hope?", "an answer about it is not read yet"),
    ],
)
def test_what_an_answer_settles_is_in_doubt_until_all_of_it_is_read(
    survey, tmp_path, answer, doubts
):
    mail = letter("One for you.", number=1, pictures=(picture(41, taken=TAKEN),))
    (asked,) = take_in(survey, tmp_path / "mails", [mail], now=NOW)
    settle.settle(survey, [asked], Settlement(ask="place"), by="Co", now=NOW)
    code = questions.live(survey)[0].code
    reply = letter(
        answer, number=2, subject="Re: your photo",
        headers=(("In-Reply-To", f"<{code}.question@example.org>"),),
    )  # fmt: skip
    (answering,) = take_in(survey, tmp_path / "mails", [reply], now=NOW)
    assert [one.locality for one in standing.sightings(survey)] == ["Alder Pool"]
    assert in_doubt(survey) == doubts
    if doubts:
        settle.settle(survey, [answering], Settlement(accept=True), by="Co", now=NOW)
        assert in_doubt(survey) == ""


@pytest.mark.parametrize(
    ("text", "taken", "point", "doubt"),
    [
        ("At Heron Mere.", "2020:01:01 00:03:10", None, "the time is in doubt"),
        ("At Heron Mere.", "2026:12:24 12:00:00", None, "the time is in doubt"),
        ("At Heron Mere.", TAKEN, (54.23, 21.70), "the place is in doubt"),
        ("At Heron Mere.", TAKEN, (-22.9, -43.2), "the place is in doubt"),
        ("One for you.", TAKEN, None, "its place is not known yet"),
        ("At Heron Mere.", "", None, "its date is not known yet"),
        ("At Heron Mere. It was in my garden.", TAKEN, None, MAY_BE_PRIVATE),
        ("At Heron Mere.", TAKEN, None, ""),
    ],
)
def test_setting_a_mail_aside_decides_nothing_of_its_doubts(
    survey, tmp_path, text, taken, point, doubt
):
    mail = letter(text, number=1, pictures=(picture(41, taken=taken, point=point),))
    (message,) = take_in(survey, tmp_path / "mails", [mail], now=NOW)
    for decided in (Settlement(ask="original"), Settlement(set_aside="too far to drive")):
        assert doubt in in_doubt(survey)
        settle.settle(survey, [message], decided, by="Co", now=NOW)
    assert doubt in in_doubt(survey)
    assert bool(in_doubt(survey)) is bool(doubt)
    settle.settle(survey, [message], Settlement(accept=True), by="Co", now=NOW)
    assert in_doubt(survey) == ""


def in_doubt(survey) -> str:
    """What is in doubt of the one sighting there is."""
    (sighting,) = standing.sightings(survey)
    held = publish.content(survey, [sighting], standing.standing(survey))
    return held.in_doubt.get(sighting.identifier, "")


@pytest.mark.parametrize("pictures", [0, 1])
def test_a_correction_is_a_row_with_photos_too_and_puts_what_it_is_about_in_doubt(
    survey, tmp_path, pictures
):
    mails = [
        letter("At Heron Mere.", number=1, pictures=(picture(39, taken=TAKEN),)),
        letter(
            "Correction: the photo I sent on Sunday was from Alder Pool.", number=2,
            sent="Tue, 16 Jun 2026 18:00:00 +0200",
            pictures=(picture(40, taken="2026:06:16 12:00:00"),) * pictures,
        ),
    ]  # fmt: skip
    first, second = take_in(survey, tmp_path / "mails", mails, now=NOW)
    asked = next(one for one in inbox.entries(survey) if one.message.identifier == second)
    assert asked.needs[0].kind == "correction"
    assert asked.needs[0].mails == (first,)
    found = standing.sightings(survey)
    held = publish.content(survey, found, standing.standing(survey))
    doubted = next(one for one in found if one.event_date.startswith("2026-06-14"))
    assert "a later mail may correct it" in held.in_doubt[doubted.identifier]
    settle.settle(survey, [first], Settlement(site="Alder Pool"), by="Co", now=NOW)
    settle.settle(survey, [second], Settlement(accept=True), by="Co", now=NOW)
    held = publish.content(survey, standing.sightings(survey), standing.standing(survey))
    assert held.in_doubt == {}


@pytest.mark.parametrize("copied", [False, True])
def test_words_of_a_home_hold_its_picture_whichever_copy_or_frame_they_came_with(
    survey, tmp_path, copied
):
    fixed = picture(38, taken=TAKEN, point=(53.93001, 21.7))
    if copied:
        file = io.BytesIO()
        Image.fromarray(scene(38, 600, 800)).save(file, "JPEG", quality=95)
        fixed = file.getvalue()
    mails = [
        letter("53.9301, 21.7001, today.", number=1, pictures=(fixed,)),
        letter("Once more, from our garden.", number=2, pictures=(smaller(fixed, copied),)),
    ]
    _, second = take_in(survey, tmp_path / "mails", mails, now=NOW)
    (sighting,) = standing.sightings(survey)
    assert len(sighting.photos) == (1 if copied else 2)
    assert "private place" in needs(survey, second)
    assert is_hidden(survey)


def smaller(photo: bytes, copied: bool) -> bytes:
    """The same picture without its place, in fewer pixels where it is to be told for a copy."""
    file = io.BytesIO()
    if not copied:
        return picture(38, taken=TAKEN)
    with Image.open(io.BytesIO(photo)) as opened:
        opened.resize((400, 300)).save(file, "JPEG", quality=80)
    return file.getvalue()


def test_out_of_office_by_a_person_is_mail(survey, tmp_path):
    mail = letter(
        "At Heron Mere.", number=1, subject="Out of office: a dragonfly at lunch",
        pictures=(picture(31, taken=TAKEN),),
    )  # fmt: skip
    (message,) = take_in(survey, tmp_path / "mails", [mail], now=NOW)
    assert messages.find(survey, message).automatic == ""
    assert len(standing.sightings(survey)) == 1


@pytest.mark.parametrize(
    ("answer", "settled"),
    [
        ("At Alder Pool.", True),
        ("It was Alder Pool.", True),
        ("What does that mean?", False),
        ("No idea.", False),
        ("Maybe Alder Pool, my friend took it, do not show it as mine.", False),
    ],
)
def test_an_answer_settles_only_if_it_was_understood(survey, tmp_path, answer, settled):
    mail = letter("One for you.", number=1, pictures=(picture(32, taken=TAKEN),))
    (asked,) = take_in(survey, tmp_path / "mails", [mail], now=NOW)
    settle.settle(survey, [asked], Settlement(ask="place"), by="Co", now=NOW)
    (draft,) = drafts.drafts(survey)
    assert questions.live(survey)[0].code == draft.code
    reply = letter(f"{answer}\n\n> {draft.code}\n", number=2, subject=f"Re: {draft.code}")
    (identifier,) = take_in(survey, tmp_path / "mails", [reply], now=NOW)
    assert messages.find(survey, identifier).state == ("settled" if settled else "open")
    assert messages.find(survey, asked).state == ("settled" if settled else "open")
    if not settled:
        (entry,) = [e for e in inbox.entries(survey) if e.message.identifier == identifier]
        assert entry.needs[0].kind == "answer"
        assert answer[:20] in entry.needs[0].text


@pytest.mark.parametrize("asked", [False, True])
def test_a_letter_asks_for_no_day_that_the_mail_tells(survey, tmp_path, asked):
    parts = (DEMO / "inbox.mbox").read_bytes().split(b"\nFrom ")
    (raw,) = (part.partition(b"\n")[2] for part in parts if b"\nSubject: Clock\n" in part)
    mail = email.message_from_bytes(raw, policy=policy.default)
    if asked:
        late = picture(34, taken="2026:06:20 12:00:00")  # after the mail was sent
        mail = letter("Heron Mere. Sunny.", number=1, pictures=(late,))
    take_in(survey, tmp_path / "mails", [mail], now=NOW)
    ((need,),) = (entry.needs for entry in inbox.entries(survey))
    assert need.kind == "clock"
    (one,) = standing.sightings(survey)
    statement = Statement(taxon="Calopteryx splendens")
    determine.determine(survey, one.identifier, statement, by="Ida Kvist", new=True, now=NOW)
    (thanks,) = volunteer_letters.thanks(survey, by="Co", now=NOW, show=True).letters
    assert ("on which day was it taken?" in thanks.text) == asked


def test_the_listing_is_numbered_and_shows_words_and_files(survey, folder, tmp_path, capsys):
    mails = [
        letter("A visitor, near the mill.", number=1, pictures=(picture(33, taken=TAKEN),)),
        letter("Please delete my photos.", number=2),
    ]
    first, second = take_in(survey, tmp_path / "mails", mails, now=NOW)
    assert main(["inbox", "--survey", str(folder)]) == 0
    said = capsys.readouterr().out
    assert f"1.  {second[:10]}" in said
    assert f"2.  {first[:10]}" in said
    assert 'wrote: "A visitor, near the mill."' in said
    assert "photos: p1-0.jpg" in said
    assert "triage forget sam.ferry@example.org" in said
    for row in ("2", first[:12]):
        assert main(["inbox", "--show", row, "--survey", str(folder)]) == 0
        said = capsys.readouterr().out
        assert "A visitor, near the mill." in said
        assert "file: p1-0.jpg" in said
    assert main(["inbox", "--show", "77", "--survey", str(folder)]) == 1


def test_a_clock_that_the_mail_contradicts_is_offered_what_the_mail_says_of_it(survey, tmp_path):
    words = "Heron Mere, 14 June 2026, 13:00. My camera clock is one hour slow."
    mail = letter(words, number=1, pictures=(picture(34, taken=TAKEN),))
    take_in(survey, tmp_path / "mails", [mail], now=NOW)
    ((need,),) = (entry.needs for entry in inbox.entries(survey))
    assert need.text == "p1-0.jpg: the message says 2026-06-14 13:00 (14 June 2026, 13:00)"
    assert need.fix == "--correct-camera +1h for its photo"


@pytest.mark.parametrize(
    ("words", "offer"),
    [
        ("My camera clock is one hour slow.", "+1h"),
        ("Meine Kamera steht noch auf Winterzeit.", "+1h"),
        ("Zegar aparatu myli się o godzinę.", "+1h or -1h"),
    ],
)
def test_words_about_a_wrong_clock_offer_a_correction_and_change_nothing(
    survey, tmp_path, words, offer
):
    mail = letter(f"At Heron Mere. {words}", number=1, pictures=(picture(34, taken=TAKEN),))
    (message,) = take_in(survey, tmp_path / "mails", [mail], now=NOW)
    (entry,) = inbox.entries(survey)
    (need,) = entry.needs
    assert (need.kind, need.text) == ("clock", f"the mail says: '{words}'")
    assert need.fix == f"--correct-camera {offer} for its photo"
    assert standing.sightings(survey)[0].event_date.startswith("2026-06-14T12:00")
    whole = message_page.whole_message(survey, message)
    assert len(whole.clocks) == len(offer.split(" or "))
    settle.settle(survey, [message], Settlement(camera_offset_seconds=3600), by="Co", now=NOW)
    assert messages.find(survey, message).state == "settled"
    assert standing.sightings(survey)[0].event_date.startswith("2026-06-14T13:00")


def test_a_clock_that_is_said_to_be_wrong_by_nobody_knows_how_much_is_a_row(survey, tmp_path):
    mail = letter(
        "At Heron Mere. The date on my camera is wrong.", number=1,
        pictures=(picture(35, taken=TAKEN),),
    )  # fmt: skip
    (message,) = take_in(survey, tmp_path / "mails", [mail], now=NOW)
    (need,) = inbox.entries(survey)[0].needs
    assert need.fix.startswith("--correct-camera OFFSET or --date")
    settle.settle(survey, [message], Settlement(accept=True), by="Co", now=NOW)
    assert inbox.entries(survey) == []


NO_JUNE = "the mail says '31.06.2026', and there is no 31 June"


@pytest.mark.parametrize(
    ("text", "taken", "asked"),
    [
        ("Seen on 31.06.2026 at Heron Mere.", "", [f"p1-0.jpg: no date: {NO_JUNE}"]),
        ("Seen on 31.06.2026 at Heron Mere.", TAKEN, [f"p1-0.jpg: {NO_JUNE}"]),
        ("Seen at Heron Mere on 14 June, or 31.06.2026.", TAKEN, [f"p1-0.jpg: {NO_JUNE}"]),
        ("Seen on 13.06.2026 at Heron Mere.", "", []),
    ],
)
def test_a_day_that_no_month_has_is_asked_about_until_somebody_says_the_day(
    survey, tmp_path, text, taken, asked
):
    mail = letter(text, number=1, pictures=(picture(37, taken=taken),))
    (message,) = take_in(survey, tmp_path / "mails", [mail], now=NOW)
    assert [need.text for entry in inbox.entries(survey) for need in entry.needs] == asked
    if asked:
        settle.settle(survey, [message], Settlement(date="2026-06-14"), by="Co", now=NOW)
    assert inbox.entries(survey) == []


@pytest.mark.parametrize("words", ["31.06.2026, Heron Mere.", "Yesterday, no: 31.06.2026."])
def test_an_answer_with_a_day_that_no_month_has_is_read_by_somebody(survey, tmp_path, words):
    mail = letter("At Heron Mere.", number=1, pictures=(picture(38),))
    (message,) = take_in(survey, tmp_path / "mails", [mail], now=NOW)
    settle.settle(survey, [message], Settlement(ask="date"), by="Co", now=NOW)
    (asked,) = questions.live(survey)
    answer = letter(words, number=2, subject=f"Re: {asked.code}")
    (answering,) = take_in(survey, tmp_path / "more", [answer], now=NOW)
    assert needs(survey, answering) == ["answer"]
