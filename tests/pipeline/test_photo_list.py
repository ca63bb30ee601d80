"""What stands of each photo is read back: after a site, a date, a clock, an offer, a withdrawal."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from mail_writing import letter, picture, take_in
from tests_support import DEMO, NOW, needs

from triage.cli import main
from triage.demo.walk import import_tables
from triage.determinations import Statement
from triage.errors import UnknownError
from triage.exports.standing_photos import StandingPhoto
from triage.inbox import Settlement
from triage.pipeline import correct, determine, edit, inbox, photo_list, settle, standing, undo
from triage.store import messages
from triage.store.connection import Survey, create_survey, open_survey

HERON = (53.9021, 21.6954)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    folder = tmp_path / "survey"
    create_survey(folder, title="Linnet Water Survey")
    return folder


@pytest.fixture
def survey(folder: Path):
    with open_survey(folder) as opened:
        import_tables(opened, DEMO, now=NOW)
        yield opened


def one(survey: Survey, tmp_path: Path, text: str, image: bytes, number: int = 1) -> str:
    mail = letter(text, number=number, pictures=(image,))
    return take_in(survey, tmp_path / "mails", [mail], now=NOW)[0]


def stands(survey: Survey, message: str) -> StandingPhoto:
    (row,) = photo_list.standing_photos(survey, [message])
    return row


@pytest.mark.parametrize("north", [0.33, 0.018, 0.007], ids=["36 km", "2 km", "780 m"])
def test_a_fix_far_from_the_named_site_stands_and_is_shown(survey, tmp_path, north):
    image = picture(1, taken="2026:06:14 12:00:00", point=(HERON[0] + north, HERON[1]))
    message = one(survey, tmp_path, "Seen at Heron Mere.", image)
    row = stands(survey, message)
    assert row.place_source == "camera gps"
    assert "from Heron Mere, both uncertainties allow" in row.place_doubts
    assert needs(survey, message) == ["place doubt"]
    settle.settle(survey, [message], Settlement(take_offer=True), by="Co", now=NOW)
    assert (stands(survey, message).locality, needs(survey, message)) == ("Heron Mere", [])


def test_swapped_coordinates_are_taken_as_offered(survey, tmp_path):
    survey.settings = survey.settings.model_copy(
        update={
            "survey": survey.settings.survey.model_copy(update={"area": (53.0, 21.0, 55.0, 23.0)})
        }
    )
    image = picture(2, taken="2026:06:14 12:00:00", point=(21.7, 53.9))
    message = one(survey, tmp_path, "One more for you.", image)
    (entry,) = inbox.entries(survey)
    assert "--take-offer for 53.90000, 21.70000" in entry.needs[0].fix
    settle.settle(survey, [message], Settlement(take_offer=True), by="Co", now=NOW)
    row = stands(survey, message)
    assert (row.decimal_latitude, row.decimal_longitude) == (53.9, 21.7)
    assert (row.place_source, row.place_doubts) == ("coordinator", "")
    undo.undo(survey, by="Co", now=NOW)
    assert stands(survey, message).decimal_latitude == 21.7


@pytest.mark.parametrize(
    ("word", "day"),
    [(Settlement(accept=True), "2026-06-10"), (Settlement(take_offer=True), "2026-06-14")],
)
def test_a_typed_day_that_the_clock_excludes_is_one_question_more(survey, tmp_path, word, day):
    message = one(survey, tmp_path, "At Heron Mere.", picture(9, taken="2026:06:14 12:00:00"))
    settle.settle(survey, [message], Settlement(date="2026-06-10"), by="Co", now=NOW)
    assert (stands(survey, message).event_date, needs(survey, message)) == (
        "2026-06-10",
        ["date doubt"],
    )
    settle.settle(survey, [message], word, by="Co", now=NOW)
    assert stands(survey, message).event_date.startswith(day)
    assert needs(survey, message) == []


def test_two_named_sites_cannot_be_accepted_unchosen(survey, tmp_path):
    image = picture(3, taken="2026:06:14 12:00:00")
    message = one(survey, tmp_path, "First at Heron Mere, later at Alder Pool.", image)
    with pytest.raises(UnknownError, match="names several sites: Alder Pool, Heron Mere"):
        settle.settle(survey, [message], Settlement(accept=True), by="Co", now=NOW)
    settle.settle(survey, [message], Settlement(site="Alder Pool"), by="Co", now=NOW)
    assert (stands(survey, message).locality, needs(survey, message)) == ("Alder Pool", [])


def test_nothing_offered_is_refused_and_changes_nothing(survey, tmp_path):
    message = one(survey, tmp_path, "Seen at Heron Mere.", picture(4, taken="2026:06:14 12:00:00"))
    with pytest.raises(UnknownError, match="nothing is offered"):
        settle.settle(survey, [message], Settlement(take_offer=True), by="Co", now=NOW)
    assert stands(survey, message).place_source == "message site name"


def test_the_newest_word_stands_whichever_command_said_it(survey, tmp_path):
    message = one(survey, tmp_path, "Seen at Heron Mere.", picture(5, taken="2026:06:14 12:00:00"))
    photo = stands(survey, message).photo
    settle.settle(survey, [message], Settlement(site="Otter Reach"), by="Co", now=NOW)
    correct.correct(survey, photo, field="place", value="Alder Pool", by="Co", now=NOW)
    assert stands(survey, message).locality == "Alder Pool"
    settle.settle(survey, [message], Settlement(date="2026-06-10"), by="Co", now=NOW)
    settle.settle(survey, [message], Settlement(date="2026-06-11"), by="Co", now=NOW)
    assert stands(survey, message).event_date == "2026-06-11"
    (sighting,) = standing.sightings(survey)
    assert (sighting.locality, sighting.event_date) == ("Alder Pool", "2026-06-11")


def test_a_corrected_camera_settles_its_row(survey, tmp_path):
    image = picture(6, taken="2025:06:14 12:00:00", point=HERON)
    message = one(survey, tmp_path, "Seen yesterday.", image)
    assert needs(survey, message) == ["clock"]
    year = Settlement(camera_offset_seconds=364 * 86_400.0)
    settle.settle(survey, [message], year, by="Co", now=NOW)
    assert needs(survey, message) == []
    assert stands(survey, message).event_date.startswith("2026-06-13")


def test_a_correction_that_leaves_a_clock_at_its_start_settles_nothing(survey, tmp_path):
    image = picture(6, taken="2000:01:01 00:44:00", point=HERON)
    message = one(survey, tmp_path, "Seen yesterday.", image)
    hour = Settlement(camera_offset_seconds=3600.0)
    settle.settle(survey, [message], hour, by="Co", now=NOW)
    assert needs(survey, message) == ["clock"]
    settle.settle(survey, [message], Settlement(date="2026-06-13"), by="Co", now=NOW)
    assert needs(survey, message) == []


def test_a_withdrawn_photo_leaves_and_comes_back(survey, tmp_path):
    message = one(survey, tmp_path, "Seen at Heron Mere.", picture(7, taken="2026:06:14 12:00:00"))
    row = stands(survey, message)
    assert correct.withdraw(survey, [row.photo], reason="", by="Co", now=NOW) == [row.sightings]
    with pytest.raises(UnknownError, match="withdrawn already"):
        correct.withdraw(survey, [row.photo], reason="", by="Co", now=NOW)
    assert stands(survey, message).publication == "withdrawn"
    assert [s.state for s in standing.sightings(survey)] == ["set aside"]
    undo.undo(survey, by="Co", now=NOW)
    assert stands(survey, message).publication == ""
    assert [s.state for s in standing.sightings(survey)] == ["queued"]


@pytest.mark.parametrize("determined", [False, True])
def test_of_two_photos_of_one_animal_the_other_stays(survey, tmp_path, determined):
    image = picture(9, taken="2026:06:14 12:00:00")
    other = picture(10, taken="2026:06:14 12:00:02")
    mail = letter("One animal, at Heron Mere.", number=1, pictures=(image, other))
    (message,) = take_in(survey, tmp_path / "mails", [mail], now=NOW)
    first, second = (row.photo for row in photo_list.standing_photos(survey, [message]))
    before = standing.sightings(survey)
    if len(before) == 2:
        edit.merge(survey, [one.identifier for one in before], by="Co", now=NOW)
    (one,) = standing.sightings(survey)
    if determined:
        told = Statement(cannot_tell="far")
        determine.determine(survey, one.identifier, told, by="Ida", now=NOW, new=True)
    assert correct.withdraw(survey, [first], reason="", by="Co", now=NOW) == []
    held = {photo for one in standing.sightings(survey) for photo in one.photos}
    assert second in held
    assert determined or first not in held
    undo.undo(survey, by="Co", now=NOW)
    held = {photo for one in standing.sightings(survey) for photo in one.photos}
    assert held == {first, second}


def test_the_commands_list_print_what_stands_and_write_a_table(survey, folder, tmp_path, capsys):
    message = one(survey, tmp_path, "Seen at Heron Mere.", picture(8, taken="2026:06:14 12:00:00"))
    photo = stands(survey, message).photo
    table = tmp_path / "photos.csv"
    assert main(["photos", "--survey", str(folder), "--csv", str(table)]) == 0
    with table.open(encoding="utf-8", newline="") as file:
        (row,) = csv.DictReader(file)
    assert (row["photo"], row["locality"]) == (photo, "Heron Mere")
    capsys.readouterr()
    assert main(["settle", message, "--site", "Alder Pool", "--survey", str(folder)]) == 0
    assert "now stands: p1-0.jpg: 2026-06-14 12:00:00" in capsys.readouterr().out
    arguments = ["correct", photo, "--place", "Otter Reach", "--survey", str(folder)]
    assert main(arguments) == 0
    assert "Otter Reach (coordinator)" in capsys.readouterr().out
    assert main(["withdraw", photo[:12], "--survey", str(folder)]) == 0
    assert "'triage undo' puts it back" in capsys.readouterr().out
    assert messages.find(survey, message).state == "settled"
