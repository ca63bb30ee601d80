"""Somebody new is added with what is recorded of them, and not before: refused work adds nobody."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from mail_writing import letter, picture, take_in
from tests_support import NOW

from triage.cli import main
from triage.desk.packet_page import page
from triage.determinations import Statement
from triage.errors import TriageError
from triage.inbox import Settlement
from triage.pipeline import correct, determine, packet, persons, settle, standing
from triage.store import people
from triage.store.connection import Survey, open_survey

ADA = "Ada Moor"
Work = Callable[[Survey, Path], object]


def names(survey: Survey) -> list[str]:
    return sorted(survey.column("select name from people"))


def sightings_of(survey: Survey) -> list[str]:
    return [one.identifier for one in standing.sightings(survey)]


def determined(survey: Survey, taxon: str = "Libellula", sighting: str = "") -> object:
    said = Statement(taxon=taxon)
    one = sighting or sightings_of(survey)[0]
    return determine.determine(survey, one, said, by=ADA, now=NOW, new=True)


def packed(survey: Survey, target: Path, count: int = 2) -> object:
    return packet.make(
        survey, target, whom=ADA, count=count, megabytes=20, page=page, by="Co", now=NOW, new=True
    )


def settled(survey: Survey, folder: Path, *, pictures: tuple = (), **said: str) -> object:
    mail = letter("Seen.", number=1, sender="Bo Vale <bo@example.org>", pictures=pictures)
    (identifier,) = take_in(survey, folder / "mails", [mail], now=NOW)
    decision = Settlement(photographer=ADA, new_person=True, **said)
    return settle.settle(survey, [identifier], decision, by="Co", now=NOW)


def corrected(survey: Survey, **said: str) -> object:
    photo = standing.sightings(survey)[0].photos[0]
    values = {"photographer": ADA, **said}
    return correct.correct_all(survey, photo, values, by="Co", now=NOW, new=True)


def said_in_table(survey: Survey, folder: Path, *rows: str):
    path = folder / "said.csv"
    lines = ["sighting,scientificName,identifiedBy", *rows]
    path.write_text("\n".join(lines), encoding="utf-8")
    return determine.determine_from_table(survey, path, by="", now=NOW, new=True)


@pytest.mark.parametrize(
    "work",
    [
        lambda survey, _: determined(survey, taxon="Libelula depresa"),
        lambda survey, _: determined(survey, sighting="no such sighting"),
        lambda survey, to: packed(survey, to / "none.zip", count=0),
        lambda survey, to: packed(survey, to / "said.csv" / "packet.zip"),
        lambda survey, to: settled(survey, to, ask="place", pictures=(picture(3),)),
        lambda survey, to: settled(survey, to, site="No such water", pictures=(picture(3),)),
        lambda survey, _: corrected(survey, time="in June"),
        lambda survey, _: corrected(survey, place="No such water"),
        lambda survey, _: persons.set_short_name(survey, "AM", ADA, by="Co", now=NOW),
    ],
)
def test_work_that_is_refused_adds_nobody(survey: Survey, tmp_path: Path, work: Work):
    (tmp_path / "said.csv").write_text("", encoding="utf-8")
    with pytest.raises(TriageError):
        work(survey, tmp_path)
    assert ADA not in names(survey)


def test_who_is_said_to_have_taken_no_photo_is_not_added(survey: Survey, tmp_path: Path):
    settled(survey, tmp_path)
    assert ADA not in names(survey)


@pytest.mark.parametrize(
    "work",
    [
        lambda survey, _: determined(survey),
        lambda survey, to: packed(survey, to / "packet.zip"),
        lambda survey, to: settled(survey, to, pictures=(picture(3),)),
        lambda survey, _: corrected(survey),
    ],
)
def test_work_that_is_done_adds_the_new_person_once(survey: Survey, tmp_path: Path, work: Work):
    work(survey, tmp_path)
    assert names(survey).count(ADA) == 1
    assert people.determiner(survey, "ada moor").name == ADA


def test_a_table_adds_only_people_of_rows_that_were_taken(survey: Survey, tmp_path: Path):
    before = names(survey)
    one, other, third = sightings_of(survey)[:3]
    outcome = said_in_table(
        survey,
        tmp_path,
        f"{one},Libellula,Ada Moor",  # refused: she names it twice
        f"{one},Aeshna,ada moor",
        f"{one},Libelula depresa,Bo Lind",
        "no such sighting,Libellula,Cleo Hag",
        f"{other},Libellula,Zenon Trzpiot",
        f"{third},Libellula,zenon trzpiot",
        f"{third},Libellula,Z. Trzpiot",
    )
    assert [row.line for row in outcome.refused] == [2, 3, 4, 5, 8]
    assert names(survey) == sorted([*before, "Zenon Trzpiot"])
    code = people.determiner(survey, "Zenon Trzpiot").code
    said = [made.identified_by for made in standing.standing(survey).determinations[third]]
    assert said == [code]


def test_a_table_of_which_nothing_is_taken_tells_of_nobody_new(survey: Survey, tmp_path: Path):
    determined(survey)
    one = sightings_of(survey)[1]
    rows = (f"{one},Libellula,Jon Moor", f"{one},Aeshna,Jon Moor")
    assert said_in_table(survey, tmp_path, *rows).told == ()
    assert "Jon Moor" not in names(survey)


@pytest.mark.parametrize(
    "command",
    [
        ["packet", "--for", "Jon Moor", "--new", "--to", "{to}/no/packet.zip"],
        ["determine", "no such", "Libellula", "--by", "Jon Moor", "--new"],
    ],
)
def test_nobody_is_called_new_before_the_work_is_done(
    walked: Path, tmp_path: Path, capsys, command: list[str]
):
    with open_survey(walked) as survey:
        determined(survey)
    (tmp_path / "no").write_text("", encoding="utf-8")
    assert main([*(one.format(to=tmp_path) for one in command), "--survey", str(walked)]) == 1
    assert "is new here" not in capsys.readouterr().err
