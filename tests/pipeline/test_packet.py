"""Packets: who gets what, what a stolen one tells, and answers that are taken in once."""

from __future__ import annotations

import base64
import csv
import io
import json
import re
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from PIL import Image
from tests_support import NOW

from triage.cli import main
from triage.desk.packet_page import page
from triage.determinations import Statement
from triage.errors import SourceError, UnknownError
from triage.packets import key_of
from triage.pipeline import determine, edit, packet, queueing, standing, undo
from triage.pipeline.determine import determine_from_table
from triage.pipeline.tables import ImportOutcome
from triage.store import evidence, messages, people, photos
from triage.store.connection import Survey
from triage.store.dump import canonical_dump


def made(
    survey: Survey, to: Path, *, count: int = 4, megabytes: float = 20, whom: str = "Ada Moor"
):
    return packet.make(
        survey, to / "packet.zip", whom=whom, count=count, megabytes=megabytes, page=page,
        by="coordinator", now=NOW, new=True,
    )  # fmt: skip


def table(to: Path, packet_name: str, *said: dict[str, str], name: str = "answers.csv") -> Path:
    """A table of answers as the page saves it; the first answers the packet's first sighting."""
    columns = ("sighting", "scientificName", "cannotTell", "sex")
    with (to / name).open("w", encoding="utf-8-sig", newline="") as file:
        writer = csv.DictWriter(file, columns)
        writer.writeheader()
        for number, one in enumerate(said, 1):
            writer.writerow({"sighting": key_of(packet_name, number)} | one)
    return to / name


def read(survey: Survey, path: Path) -> ImportOutcome:
    return determine_from_table(survey, path, by="", now=NOW)


def asked(survey: Survey, packet_name: str) -> list[str]:
    """The sightings of a packet, in its order."""
    rows = survey.connection.execute(
        "select sighting from packet_sightings where packet = ? order by number", (packet_name,)
    )
    return [row[0] for row in rows]


def pieces(path: Path) -> Iterator[bytes]:
    """Every byte of a packet: the zip, its files, and the pictures inside its page."""
    yield path.read_bytes()
    with zipfile.ZipFile(path) as archive:
        for name in archive.namelist():
            yield name.encode()
            content = archive.read(name)
            yield content
            for picture in re.findall(rb"data:image/jpeg;base64,([A-Za-z0-9+/=]+)", content):
                yield base64.b64decode(picture)


def pictures(path: Path) -> list[Image.Image]:
    return [Image.open(io.BytesIO(p)) for p in pieces(path) if p.startswith(b"\xff\xd8")]


def test_the_packet_holds_the_first_sightings_of_the_determiners_queue(
    survey: Survey, tmp_path: Path
):
    first = [r.sighting.identifier for r in queueing.queue(survey, now=NOW, limit=3)]
    outcome = made(survey, tmp_path, count=3)
    assert asked(survey, outcome.packet) == first
    assert (outcome.sightings, outcome.unreadable) == (3, 0)
    named = determine.determine(
        survey, first[0], Statement(taxon="Aeshna", second_opinion=True), by="Ada Moor", now=NOW
    )
    assert named.state == "second opinion"
    assert first[0] not in asked(survey, made(survey, tmp_path, count=9).packet)


def test_a_stolen_packet_tells_nothing_about_people_or_places(survey: Survey, tmp_path: Path):
    for one in queueing.queue(survey, now=NOW, limit=2):
        said = Statement(taxon="Aeshna", second_opinion=True, remarks="by the spillway")
        determine.determine(survey, one.sighting.identifier, said, by="Ben Holm", now=NOW, new=True)
    outcome = made(survey, tmp_path, count=40)
    secrets = {"Ada Moor", "Ben Holm", "spillway"}
    for person in people.all_people(survey):
        secrets |= {person.name, person.code, *person.addresses}
    for site in evidence.sites(survey):
        secrets |= {site.locality, site.location_id}
    for one in standing.sightings(survey):
        secrets |= {one.identifier, one.locality, one.location_id, *one.photos}
        secrets |= {p[:10] for p in one.photos}
        for degrees in (one.decimal_latitude, one.decimal_longitude):
            secrets.add(f"{degrees:.3f}" if degrees is not None else "")
        secrets.add(one.event_date[11:19])
    for message in messages.every(survey):
        secrets.add(message.identifier)
        for layer in messages.envelopes_of(survey, message.row):
            secrets |= {layer.subject, layer.sender_name, *layer.text.splitlines()}
    secrets |= {one.file_name for one in photos.appearances(survey, photos.load(survey))}
    wanted = {secret.strip() for secret in secrets if len(secret.strip()) >= 5}
    assert len(wanted) > 100
    for content in pieces(outcome.path):
        text = content.decode("latin-1") + content.decode("utf-8", errors="ignore")
        assert [secret for secret in wanted if secret in text] == []


def test_pictures_are_pixels_only_and_large_where_the_photo_is(survey: Survey, tmp_path: Path):
    outcome = made(survey, tmp_path, count=40)
    found = pictures(outcome.path)
    assert len(found) == outcome.pictures > 0
    kept = photos.load(survey)
    most = max(max(one.photo.width, one.photo.height) for one in kept.values())
    for picture in found:
        assert not picture.getexif()
        assert set(picture.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
    assert max(max(picture.size) for picture in found) == min(2000, most)


@pytest.mark.parametrize("megabytes", [1.0, 1.5])
def test_the_packet_is_no_larger_than_asked_for(survey: Survey, tmp_path: Path, megabytes: float):
    outcome = made(survey, tmp_path, count=40, megabytes=megabytes)
    assert outcome.byte_size == outcome.path.stat().st_size <= megabytes * 1_000_000


def test_every_picture_has_words_in_its_place(survey: Survey, tmp_path: Path):
    with zipfile.ZipFile(made(survey, tmp_path).path) as archive:
        [name] = [one for one in archive.namelist() if one.endswith(".html")]
        shown = archive.read(name).decode()
    assert re.findall(r"<img [^>]*alt=\"\"", shown) == []
    assert "Animal seen from" in shown


def test_answers_are_recorded_once_under_the_name_the_packet_went_to(
    survey: Survey, tmp_path: Path
):
    outcome = made(survey, tmp_path)
    first, second = asked(survey, outcome.packet)[:2]
    answers = table(
        tmp_path, outcome.packet, {"scientificName": "Aeshna mixta"}, {"cannotTell": "blurred"}
    )
    assert read(survey, answers).new == 2
    stands = standing.standing(survey, [first, second])
    assert stands.accepted[first].scientific_name == "Aeshna mixta"
    assert stands.accepted[second].state == "undeterminable"
    names = {one.code: one.name for one in people.all_people(survey)}
    assert names[stands.determinations[first][0].identified_by] == "Ada Moor"
    before = list(canonical_dump(survey))
    again = read(survey, answers)
    assert (again.new, again.accepted, again.refused) == (0, 2, ())
    assert list(canonical_dump(survey)) == before


def test_a_table_saved_earlier_does_not_take_back_what_a_later_one_said(
    survey: Survey, tmp_path: Path
):
    outcome = made(survey, tmp_path)
    early = table(tmp_path, outcome.packet, {"scientificName": "Aeshna"}, name="early.csv")
    late = table(tmp_path, outcome.packet, {"scientificName": "Aeshna mixta"}, name="late.csv")
    assert [read(survey, one).new for one in (early, late, early)] == [1, 1, 0]
    first = asked(survey, outcome.packet)[0]
    assert standing.standing(survey).accepted[first].scientific_name == "Aeshna mixta"


def test_what_somebody_named_meanwhile_is_shown_and_not_recorded(survey: Survey, tmp_path: Path):
    outcome = made(survey, tmp_path)
    first = asked(survey, outcome.packet)[0]
    said = Statement(taxon="Gomphidae")
    determine.determine(survey, first, said, by="Ben Holm", now=NOW, new=True)
    back = read(survey, table(tmp_path, outcome.packet, {"scientificName": "Aeshna cyanea"}))
    assert back.new == 0
    [row] = back.refused
    assert "it stands as Gomphidae" in row.reason
    assert first in row.reason


def test_a_sighting_divided_or_set_aside_meanwhile_is_shown(survey: Survey, tmp_path: Path):
    outcome = made(survey, tmp_path, count=40)
    keys = asked(survey, outcome.packet)
    stands = {one.identifier: one for one in standing.sightings(survey)}
    several = next(n for n, one in enumerate(keys) if len(stands[one].photos) > 1)
    other = next(n for n, one in enumerate(keys) if n != several)
    edit.split(survey, keys[several], stands[keys[several]].photos[:1], by="Bo", now=NOW)
    edit.set_aside(survey, keys[other], "a drawing", by="Bo", now=NOW)
    back = read(
        survey, table(tmp_path, outcome.packet, *[{"scientificName": "Aeshna"} for _ in keys])
    )
    assert back.new == len(keys) - 2
    assert len(back.refused) == 2
    assert {"set aside" in row.reason for row in back.refused} == {True, False}


def test_a_second_opinion_by_packet_is_recorded_though_others_spoke_before(
    survey: Survey, tmp_path: Path
):
    first = queueing.queue(survey, now=NOW)[0].sighting.identifier
    asks = Statement(taxon="Aeshna", second_opinion=True)
    determine.determine(survey, first, asks, by="Ben Holm", now=NOW, new=True)
    outcome = made(survey, tmp_path, count=40)
    number = asked(survey, outcome.packet).index(first) + 1
    path = table(tmp_path, outcome.packet, {"scientificName": "Aeshna mixta"})
    text = path.read_text(encoding="utf-8-sig")
    path.write_text(text.replace("-01,", f"-{number:02d},"), encoding="utf-8")
    assert read(survey, path).new == 1


def test_answers_of_a_packet_that_was_taken_back_or_never_made_are_refused(
    survey: Survey, tmp_path: Path
):
    outcome = made(survey, tmp_path)
    undo.undo(survey, by="coordinator", now=NOW)
    for name in (outcome.packet, "00000000"):
        back = read(survey, table(tmp_path, name, {"scientificName": "Aeshna"}))
        assert back.new == 0
        assert "taken back" in back.refused[0].reason


def test_all_answers_are_one_action(survey: Survey, tmp_path: Path):
    outcome = made(survey, tmp_path)
    said = [{"scientificName": "Aeshna"}] * 3
    read(survey, table(tmp_path, outcome.packet, *said))
    undo.undo(survey, by="Ada Moor", now=NOW)
    assert not standing.standing(survey).determinations
    assert read(survey, table(tmp_path, outcome.packet, *said)).new == 3


COLUMNS = (
    *("sighting", "scientificName", "identificationQualifier", "sex", "lifeStage", "behavior"),
    *("identificationRemarks", "identifiedBy", "cannotTell", "notAnAdult", "secondOpinion"),
)
FIRST = "packet-{}-01"


def answers(to: Path, packet_name: str, *rows: str, header: str = "") -> Path:
    """A table of answers as a determiner's spreadsheet may leave it."""
    text = "\n".join([header or ",".join(COLUMNS), *rows]) + "\n"
    (to / "answers.csv").write_text(text.replace("{}", packet_name), encoding="utf-8")
    return to / "answers.csv"


def answer(key: str = FIRST, **said: str) -> str:
    return ",".join([key, *(said.get(column, "") for column in COLUMNS[1:])])


NAMED = answer(scientificName="Aeshna mixta")


@pytest.mark.parametrize(
    ("rows", "refused", "why"),
    [
        # Words with a comma and no quotation marks: the next cells are other columns' then.
        ([NAMED, answer("packet-{}-02", scientificName="Libellula",
          identificationRemarks="Wings spotted, Abdomen broad")], [3], "12 cells"),
        ([answer(scientificName="Aeshna", identifiedBy="Wings Spotted")], [2], "made for Ada"),
        ([answer(scientificName="Aeshna", identifiedBy="Bodil Qvam")], [2], "made for Ada"),
        ([answer(scientificName="Aeshna", identifiedBy="A. Moor")], [2], "may be Ada Moor"),
        ([answer(cannotTell="yes")], [2], "no reason"),
        ([answer(cannotTell="x")], [2], "no reason"),
        ([answer(notAnAdult="WAHR")], [2], "no reason"),
        ([answer(cannotTell="Aeshna mixta")], [2], "as the name"),
        ([answer(notAnAdult="Aeshna")], [2], "as the name"),
        ([answer(scientificName="Aeshna", identificationQualifier="yes")], [2], "how sure"),
        ([answer(scientificName="Aeshna", identificationQualifier="♀")], [2], "how sure"),
        ([answer(scientificName="Aeshna", sex="Femal")], [2], "Did you mean female"),
        ([answer("1e+06", scientificName="Aeshna")], [2], "spreadsheet changed"),
        ([answer("packet-{}-1", scientificName="Aeshna")], [2], "not the identifier"),
        ([answer("packet-{}-99", scientificName="Aeshna")], [2], "no packet"),
        ([answer("", scientificName="Aeshna")], [2], "names no sighting"),
        ([NAMED, answer(scientificName="Aeshna cyanea")], [2, 3], "None of these rows"),
    ],
)  # fmt: skip
def test_an_answer_that_is_not_what_it_seems_is_refused(
    survey: Survey, tmp_path: Path, rows: list[str], refused: list[int], why: str
):
    name = made(survey, tmp_path).packet
    before = {one.name for one in people.known(survey)}
    path = answers(tmp_path, name, *rows)
    back = determine_from_table(survey, path, by="", now=NOW, new=True)
    assert [row.line for row in back.refused] == refused
    assert why in back.refused[0].reason
    assert back.new == len(rows) - len(refused)
    assert {one.name for one in people.known(survey)} == before


@pytest.mark.parametrize("no", ["no", "nein", "FALSE", "0", "-", "n/a"])
def test_a_box_that_nobody_ticked_is_no_reason(survey: Survey, tmp_path: Path, no: str):
    name = made(survey, tmp_path).packet
    said = answer(scientificName="Aeshna mixta", cannotTell=no, notAnAdult=no)
    left = answer("packet-{}-02", cannotTell=no, notAnAdult=no)
    back = read(survey, answers(tmp_path, name, said, left))
    assert (back.new, back.refused) == (1, ())
    stands = standing.standing(survey, asked(survey, name)).accepted
    assert stands[asked(survey, name)[0]].scientific_name == "Aeshna mixta"
    assert stands[asked(survey, name)[1]].state == "queued"


def test_answers_beside_which_another_name_stands_are_told(survey: Survey, tmp_path: Path):
    outcome = made(survey, tmp_path)
    people.determiner(survey, "Ben Holm", new=True)
    rows = [answer(f"packet-{{}}-0{n}", scientificName="Aeshna") for n in (1, 2)]
    path = answers(tmp_path, outcome.packet, *rows)
    (told,) = determine_from_table(survey, path, by="Ben Holm", now=NOW).told
    assert "Ada Moor's" in told.reason
    assert "not Ben Holm's" in told.reason
    by_ben = answer("packet-{}-03", scientificName="Aeshna", identifiedBy="Ben Holm")
    (told,) = read(survey, answers(tmp_path, outcome.packet, by_ben)).told
    assert "was made for Ada Moor; Ben Holm answers here" in told.reason


def test_a_packet_that_cannot_be_written_was_never_made(survey: Survey, tmp_path: Path):
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(SourceError, match="cannot be written"):
        made(survey, tmp_path / "file")
    assert survey.connection.execute("select count(*) from packets").fetchone()[0] == 0


def test_nobody_gets_an_empty_packet(survey: Survey, tmp_path: Path):
    for one in queueing.queue(survey, now=NOW):
        said = Statement(taxon="Aeshna")
        determine.determine(survey, one.sighting.identifier, said, by="Bo", now=NOW, new=True)
    with pytest.raises(UnknownError, match="no sighting waits"):
        made(survey, tmp_path)


def test_the_commands_make_a_packet_and_read_it_back(
    walked: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
):
    where = ["--survey", str(walked)]
    to = tmp_path / "ada.zip"
    options = ["--for", "Ada Moor", "--new", "--to", str(to), "--count", "2", "--size", "2"]
    assert main(["packet", *options, *where, "--json"]) == 0
    name = json.loads(capsys.readouterr().out)["packet"]
    answers = table(tmp_path, name, {"scientificName": "Aeshna cf. mixta"})
    assert main(["determine", "--from", str(answers), *where]) == 0
    assert "1 new" in capsys.readouterr().out


def test_the_record_of_a_packet_has_no_place_for_people_or_places():
    from dataclasses import fields

    from triage.packets import Packet, Picture, Shown

    held = {field.name for kind in (Packet, Picture, Shown) for field in fields(kind)}
    assert held == {
        "identifier", "title", "shown", "names", "key", "day", "pictures", "jpeg", "width",
        "height", "view", "box", "focus", "insect_px",
    }  # fmt: skip
