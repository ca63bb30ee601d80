"""Photos that go with their person are gone; what others sent stays; nothing brings them back."""

from __future__ import annotations

from pathlib import Path

import pytest
from mail_writing import letter, picture, take_in
from tests_support import DEMO, NOW

from triage.demo.walk import import_tables
from triage.determinations import Statement
from triage.pipeline import (
    audit,
    backup,
    determine,
    persons,
    photo_list,
    publish,
    receive,
    standing,
)
from triage.pipeline import repair as mending
from triage.store import originals, previews
from triage.store.connection import Survey, create_survey, open_survey

ADA, BO = "Ada Finch <ada@example.org>", "Bo Vale <bo@example.org>"
OWN = picture(41, taken="2026:06:14 12:00:00", point=(53.90231, 21.69567))
SHARED = picture(42, taken="2026:06:14 13:00:00", point=(53.9108, 21.7172))


@pytest.fixture
def survey(tmp_path: Path):
    folder = tmp_path / "survey"
    create_survey(folder, title="Linnet Water Survey")
    with open_survey(folder) as opened:
        import_tables(opened, DEMO, now=NOW)
        mails = [
            letter("Heron Mere", number=1, sender=ADA, pictures=(OWN, SHARED)),
            letter("Alder Pool", number=2, sender=BO, pictures=(SHARED,)),
        ]
        take_in(opened, tmp_path / "mails", mails, now=NOW)
        yield opened


def digest_of_own(survey: Survey) -> str:
    (own,) = (
        one.photo
        for one in photo_list.standing_photos(survey)
        if one.event_date.startswith("2026-06-14T12")
    )
    return own


def test_what_is_theirs_alone_is_deleted_and_what_others_sent_is_kept_back(survey):
    own = digest_of_own(survey)
    previews.picture(survey, own, "fitting")
    done = persons.forget(survey, "ada@example.org", now=NOW, photos=True)
    assert (done.dropped, done.withdrawn) == (1, 1)
    assert originals.path_of(survey.originals, own) is None
    assert not list(survey.previews.rglob(f"*{own}*"))
    assert [one.publication for one in photo_list.standing_photos(survey)] == ["withdrawn"] * 2
    row = survey.connection.execute("select * from photos where sha256 = ?", (own,)).fetchone()
    assert (row["exif"], row["phash"], row["width"]) == ("{}", "", 0)
    checked = audit.check(survey, now=NOW)
    assert checked.damage == ()
    assert not [line for line in checked.not_done if "not " in line or "interrupted" in line]


def test_the_survey_still_exports_and_a_name_that_was_given_stays_in_its_log(survey, tmp_path):
    (sighting,) = (
        one.identifier for one in standing.sightings(survey) if digest_of_own(survey) in one.photos
    )
    name = Statement(taxon="Anax imperator")
    determine.determine(survey, sighting, name, by="Co", new=True, now=NOW)
    persons.forget(survey, "ada@example.org", now=NOW, photos=True)
    assert standing.standing(survey, [sighting]).accepted[sighting].state == "set aside"
    publish.export(survey, tmp_path / "export", now=NOW)
    tables = [path for path in (tmp_path / "export").rglob("*.csv") if path.is_file()]
    assert tables
    assert not [path for path in tables if sighting in path.read_text("utf-8")]


def test_the_same_mail_brings_nothing_back_but_another_person_may(survey, tmp_path):
    own = digest_of_own(survey)
    persons.forget(survey, "ada@example.org", now=NOW, photos=True)
    receive.take_in(survey, [tmp_path / "mails"], now=NOW)
    assert originals.path_of(survey.originals, own) is None
    mail = letter("Heron Mere, 14 June", number=3, sender=BO, pictures=(OWN,))
    take_in(survey, tmp_path / "more", [mail], now=NOW)
    assert originals.path_of(survey.originals, own) is not None
    (again,) = (one for one in photo_list.standing_photos(survey) if one.photo == own)
    assert again.problem == ""


def test_neither_repair_nor_a_backup_brings_them_back_and_the_older_backup_is_named(
    survey, tmp_path
):
    own = digest_of_own(survey)
    backup.back_up(survey, tmp_path / "before.zip", now=NOW)
    done = persons.forget(survey, "ada@example.org", now=NOW, photos=True)
    assert done.backed_up == NOW.date().isoformat()
    (held,) = backup.reminder(survey, now=NOW)
    assert "still holds 1 person forgotten since" in held
    mending.repair(survey, [tmp_path / "before.zip"], now=NOW, processes=0)
    assert originals.path_of(survey.originals, own) is None
    assert audit.check(survey, now=NOW).damage == ()
    later = NOW.replace(hour=NOW.hour + 1)
    backup.back_up(survey, tmp_path / "after.zip", now=later)
    assert backup.reminder(survey, now=later) == []


def test_a_forgetting_that_was_cut_off_is_finished_by_the_same_command(survey, monkeypatch):
    own = digest_of_own(survey)
    code = persons.whom(survey, "ada@example.org").person.code

    def cut_off(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as cut:
        cut.setattr(originals, "remove", cut_off)
        with pytest.raises(KeyboardInterrupt):
            persons.forget(survey, "ada@example.org", now=NOW, photos=True)
    assert originals.path_of(survey.originals, own) is not None
    persons.forget(survey, code, now=NOW)
    assert originals.path_of(survey.originals, own) is None


def test_nothing_of_a_dropped_photo_is_left_between_the_rows(survey):
    assert "53.9023" in everything(survey)
    persons.forget(survey, "ada@example.org", now=NOW, photos=True)
    assert "53.9023" not in everything(survey)


def everything(survey: Survey) -> str:
    """The photos and claims of a survey, as text."""
    query = "select exif from photos union all select decimal_latitude || '' from place_claims"
    return "\n".join(row[0] or "" for row in survey.connection.execute(query))


def test_mails_that_others_passed_on_are_counted_before_it_asks(survey, tmp_path):
    inner = letter("I saw it at Otter Reach.", number=7, sender=ADA)
    outer = letter("See below", number=8, sender=BO)
    outer.add_attachment(inner)
    take_in(survey, tmp_path / "more", [outer], now=NOW)
    found = persons.whom(survey, "ada@example.org")
    assert found.messages == 2
    assert persons.forget(survey, "ada@example.org", now=NOW).messages == 2
