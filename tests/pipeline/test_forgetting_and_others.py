"""Forgetting one person takes nothing of anybody else, and leaves nothing if it is cut off."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from email.message import EmailMessage
from functools import partial
from pathlib import Path

import pytest
from killing import run_killed, spread
from mail_writing import letter, picture, take_in
from tests_support import DEMO, NOW, dump

from triage.demo.walk import import_tables
from triage.errors import UnknownError
from triage.pipeline import audit, persons, receive, repair, undo
from triage.store import originals, people, previews
from triage.store.connection import Survey, create_survey, open_survey

ADA, BO = "Ada Finch <ada@wren.example>", "Bo Vale <bo@example.org>"
ADDRESS = "ada@wren.example"
PHOTO = picture(41, taken="2026:06:14 12:00:00")


def attached(mail: EmailMessage, name: str, words: str) -> EmailMessage:
    mail.add_attachment(words.encode(), maintype="application", subtype="pdf", filename=name)
    return mail


def around(outer: EmailMessage, inner: EmailMessage) -> EmailMessage:
    outer.add_attachment(inner)
    return outer


def of_ada(number: int) -> EmailMessage:
    mail = letter("adas-words at Heron Mere", number=number, sender=ADA, subject="adas-subject")
    mail.replace_header("Message-ID", f"<{number}@wren.example>")
    return attached(mail, "adas-file.pdf", "%PDF-1.4 adas-pdf")


def of_bo(number: int) -> EmailMessage:
    mail = letter("bos-words at Alder Pool", number=number, sender=BO, subject="bos-subject")
    return attached(mail, "bos-file.pdf", "%PDF-1.4 bos-pdf")


MAILS: dict[str, Callable[[], EmailMessage]] = {
    "a mail of another that passes theirs on": lambda: around(of_bo(1), of_ada(2)),
    "a mail of theirs that passes another's on": lambda: around(of_ada(1), of_bo(2)),
    "three layers": lambda: around(of_bo(1), around(of_ada(2), of_bo(3))),
}


@pytest.fixture
def survey(tmp_path: Path):
    create_survey(tmp_path / "survey", title="Linnet Water Survey")
    with open_survey(tmp_path / "survey") as opened:
        import_tables(opened, DEMO, now=NOW)
        yield opened


def whole(survey: Survey) -> str:
    """Every row, every name of a file and every byte of the survey's folder, as text."""
    files = [path for path in survey.folder.rglob("*") if path.is_file()]
    content = b"\n".join(path.read_bytes() for path in files)
    return "\n".join([*survey.connection.iterdump(), *map(str, files), content.decode("latin-1")])


@pytest.mark.parametrize("name", MAILS)
def test_of_a_mail_of_several_people_only_their_own_layer_goes(name, survey, tmp_path):
    take_in(survey, tmp_path / "mails", [MAILS[name]()], now=NOW)
    persons.forget(survey, ADDRESS, now=NOW, photos=True)
    told = whole(survey)
    for word in (
        "adas-words",
        "adas-subject",
        "adas-file",
        "adas-pdf",
        "wren.example",
        "Ada Finch",
    ):
        assert word not in told, word
    for word in ("bos-words", "bos-subject", "bos-file", "bos-pdf", "bo@example.org"):
        assert word in told, word
    assert audit.check(survey, now=NOW).damage == ()


@pytest.mark.parametrize(
    ("field", "value", "told"),
    [
        ("In-Reply-To", "<1@wren.example>", True),
        ("References", "<0@example.org> <1@wren.example>", True),
        ("References", "<0@example.org> <11@wren.example>", False),
        ("Cc", "Ada Finch <ada@wren.example>", True),
        ("Bcc", "ADA@WREN.EXAMPLE", True),
        ("Cc", "nada@wren.example", False),
        ("Cc", "ada@wren.example.org", False),
    ],
)
def test_mails_that_answer_them_or_went_to_them_are_told_of(field, value, told, survey, tmp_path):
    answer = letter("bos-words", number=5, sender=BO)
    answer[field] = value
    take_in(survey, tmp_path / "mails", [of_ada(1), answer], now=NOW)
    said = "\n".join(persons.forget(survey, ADDRESS, now=NOW).sentences)
    assert ("1 mail of others that name, quote or answer them" in said) == told
    rows = "\n".join(survey.connection.iterdump())
    assert "<1@wren.example>".strip("<>") not in rows.replace("11@wren.example", "")
    assert ("0@example.org" in rows) == (field == "References")


def test_a_short_name_is_in_no_log_any_longer(survey, tmp_path):
    take_in(survey, tmp_path / "mails", [of_ada(1), of_bo(2)], now=NOW)
    for short, name in (("AdFi", "Ada Finch"), ("BoVa", "Bo Vale")):
        persons.set_short_name(survey, short, name, by="Co", now=NOW)
    code = persons.forget(survey, ADDRESS, now=NOW).code
    rows = "\n".join(survey.connection.iterdump())
    assert "AdFi" not in rows
    assert f"{code} was given a short name" in rows
    assert "BoVa is P-" in rows


@pytest.mark.parametrize(
    ("listed", "text", "after"),
    [
        ("Ada Finch", "with Ada Finch", "with Ada Finch"),  # which of the two, nobody knows
        ("Mary Ada Finch", "Mary Ada Finch and Ada Finch", "Mary Ada Finch and CODE"),
        ("Ada Finch-Moor", "Ada Finch-Moor; Finch, Ada", "Ada Finch-Moor; CODE"),
        ("Finch Ada Moor", "Finch Ada Moor", "Finch Ada Moor"),
        ("Bo Vale", "ada finch\nADA  FINCH", "CODE\nCODE"),
        ("Ida Brenn", "Frida Brenn, Ada Finchley", "Frida Brenn, Ada Finchley"),
    ],
)
def test_a_name_of_somebody_else_is_left_as_it_is(listed, text, after, survey, tmp_path):
    take_in(survey, tmp_path / "mails", [of_ada(1)], now=NOW)
    people.by_address(survey, "other@example.org", name=listed)
    survey.run("update visits set event_remarks = ?", text)
    outcome = persons.forget(survey, ADDRESS, now=NOW)
    assert people.find(survey, "other@example.org").name == listed
    found = set(survey.column("select event_remarks from visits"))
    assert found == {after.replace("CODE", outcome.code)}
    said = f"Somebody else here is called {listed}, too"
    assert (said in "\n".join(outcome.sentences)) == (listed == "Ada Finch")


def test_the_names_of_whoever_was_joined_go_from_tables(survey, tmp_path):
    other = letter("Hello", number=2, sender="Ada M. Finch <af@heron.example>")
    take_in(survey, tmp_path / "mails", [of_ada(1), other], now=NOW)
    persons.join(survey, ADDRESS, "af@heron.example", by="Co", now=NOW)
    survey.run("update lots set identified_by = 'Ada M. Finch', recorded_by = 'Finch, Ada M.'")
    code = persons.forget(survey, ADDRESS, now=NOW).code
    rows = survey.run("select distinct identified_by, recorded_by from lots").fetchall()
    assert [tuple(row) for row in rows] == [(code, code)]
    assert "Finch" not in whole(survey)


def test_letters_to_others_that_show_or_name_them_are_removed_and_counted(survey, tmp_path):
    shown = letter("See below", number=1, sender=BO)
    inner = letter("Where was it?", number=2, sender=ADA, pictures=(PHOTO,))
    take_in(survey, tmp_path / "mails", [around(shown, inner)], now=NOW)
    (photo,) = survey.column("select sha256 from photos")
    small = previews.picture(survey, photo, "small").read_bytes()
    drafts = {
        "shows.eml": letter("A picture", number=3, sender=BO),
        "names.eml": letter("Your friend Ada\nFinch wrote", number=4, sender=BO),
        "file.eml": letter("What is p2-0.jpg?", number=5, sender=BO),
        "kept.eml": letter("What is p2-01.jpg, Ada?", number=6, sender=BO),
    }
    drafts["shows.eml"].add_attachment(small, maintype="image", subtype="jpeg", filename="1.jpg")
    for name, mail in drafts.items():
        (survey.replies / name).write_bytes(mail.as_bytes())
    outcome = persons.forget(survey, ADDRESS, now=NOW, photos=True)
    assert [path.name for path in survey.replies.iterdir()] == ["kept.eml"]
    assert "3 drafts to others that named or showed them" in "\n".join(outcome.sentences)


@pytest.mark.parametrize(
    ("name", "content", "told"),
    [
        ("replies sent to all.txt", b"Ada Finch", True),
        ("survey.db.old", b"... Ada Finch ...", True),
        ("messages of June.csv", "by\nAda Finch\n".encode("utf-16"), True),
        ("sheet.txt", "by\nAda Finch\n".encode("utf-16-be"), True),
        ("Ada Finch.bin", b"", True),
        ("broken.zip", b"PK\x03\x04 nothing PK\x05\x06" + bytes(18), False),
        ("broken too.zip", b"PK\x03\x04 Ada Finch PK\x05\x06" + bytes(18), True),
        ("photo.jpg", b"\xff\xd8\xff\xe1 Ada Finch", True),
        ("originals/damaged/x.0.bin", b"Ada Finch", True),
        ("sheet.csv", b"Ada Finchley", False),
    ],
)
def test_files_of_the_folder_that_name_them_are_named(name, content, told, survey, tmp_path):
    take_in(survey, tmp_path / "mails", [of_ada(1)], now=NOW)
    path = survey.folder / name
    path.parent.mkdir(exist_ok=True)
    path.write_bytes(content)
    said = persons.forget(survey, ADDRESS, now=NOW).sentences
    assert any(one.startswith(f"{name} in the survey's folder") for one in said) == told


def test_nothing_of_forgetting_is_taken_back_not_even_the_withdrawal_of_a_shared_photo(
    survey, tmp_path
):
    mails = [
        letter("Heron Mere", number=number, sender=who, pictures=(PHOTO,))
        for number, who in ((1, ADA), (2, BO))
    ]
    take_in(survey, tmp_path / "mails", mails, now=NOW)
    persons.forget(survey, ADDRESS, now=NOW, photos=True)
    numbers = survey.column("select id from actions where summary like '%was forgotten%'")
    assert len(numbers) == 2
    for number in (None, *numbers):
        with pytest.raises(UnknownError, match="for good"):
            undo.undo(survey, by="coordinator", now=NOW, number=number)


def test_somebody_forgotten_twice_names_no_file_of_the_folder(survey, tmp_path):
    take_in(survey, tmp_path / "mails", [of_ada(1), of_bo(2)], now=NOW)
    (survey.folder / "sheet.csv").write_text("a sheet, of nobody\n", encoding="utf-8")
    code = persons.forget(survey, ADDRESS, now=NOW).code
    before = {line for line in dump(survey.folder) if "action" not in line}
    said = "\n".join(persons.forget(survey, code, now=NOW).sentences)
    assert "holds their name" not in said
    assert "name, quote or answer" not in said
    added = [line for line in dump(survey.folder) if line not in before]
    assert [line for line in added if "action" not in line and "forgotten" not in line] == []


def test_a_loose_photo_in_which_a_camera_wrote_the_name_is_told_of(survey, tmp_path):
    take_in(survey, tmp_path / "mails", [of_ada(1)], now=NOW)
    (tmp_path / "loose").mkdir()
    named = picture(7, camera=("Ada Finch", "One"))
    (tmp_path / "loose" / "x.jpg").write_bytes(named)
    (tmp_path / "loose" / "y.jpg").write_bytes(picture(8))
    receive.take_in(survey, [tmp_path / "loose"], now=NOW)
    said = "\n".join(persons.forget(survey, ADDRESS, now=NOW).sentences)
    assert "1 loose photo whose file names them" in said


def test_what_a_killed_receive_left_of_them_goes_and_of_others_stays(survey, tmp_path):
    take_in(survey, tmp_path / "mails", [of_ada(1)], now=NOW)
    stray = {who: make(9).as_bytes() for who, make in (("ada", of_ada), ("bo", of_bo))}
    for content in stray.values():
        originals.keep(survey.messages, content, media_type="message/rfc822")
    for words in ("adas", "bos"):
        originals.keep(survey.originals, f"%PDF-1.4 {words}-pdf".encode())
    persons.forget(survey, ADDRESS, now=NOW)
    told = whole(survey)
    assert "adas-" not in told
    assert "bos-words" in told
    assert "bos-pdf" in told


def forget(folder: Path, who: str) -> None:
    with open_survey(folder) as survey:
        persons.finish_forgetting(survey)
        if who in [address for one in people.all_people(survey) for address in one.addresses]:
            persons.forget(survey, who, now=NOW, photos=True)


def test_killed_anywhere_and_said_again_it_forgets_all_the_same(survey, tmp_path):
    mail = of_ada(1)
    mail.add_attachment(PHOTO, maintype="image", subtype="jpeg", filename="adas.jpg")
    take_in(survey, tmp_path / "mails", [mail, around(of_bo(3), of_ada(4))], now=NOW)
    survey.close()
    left, cut = tmp_path / "left", tmp_path / "cut"
    shutil.copytree(survey.folder, left)
    writes = run_killed(partial(forget, left, ADDRESS))
    assert writes > 20
    for at in spread(12, writes):
        shutil.copytree(survey.folder, cut)
        assert run_killed(partial(forget, cut, ADDRESS), at) < 0
        forget(cut, ADDRESS)
        assert dump(cut) == dump(left), at
        with open_survey(cut) as again:
            assert "adas" not in whole(again), at
            assert audit.check(again, now=NOW).damage == (), at
        shutil.rmtree(cut)


def test_what_was_cut_off_is_told_by_audit_and_finished_by_repair(survey, tmp_path, monkeypatch):
    take_in(survey, tmp_path / "mails", [of_ada(1)], now=NOW)
    with monkeypatch.context() as cut:
        cut.setattr(people, "scrub", lambda _: False)
        said = persons.forget(survey, ADDRESS, now=NOW).sentences
    assert any(one.startswith("Another program is reading the database") for one in said)
    told = "files or old rows of theirs still lie here"
    assert [one for one in audit.check(survey, now=NOW).not_done if told in one]
    repair.repair(survey, now=NOW, processes=0)
    assert not [one for one in audit.check(survey, now=NOW).not_done if told in one]


def test_another_program_that_reads_keeps_the_old_rows_and_that_is_said(survey, tmp_path):
    take_in(survey, tmp_path / "mails", [of_ada(1)], now=NOW)
    with open_survey(survey.folder) as other:
        survey.run("pragma busy_timeout = 100")
        other.run("begin")
        other.row("select * from envelopes")
        said = persons.forget(survey, ADDRESS, now=NOW).sentences
        other.run("rollback")
    assert any(one.startswith("Another program is reading the database") for one in said)
    assert persons.finish_forgetting(survey)
    assert "adas-words" not in whole(survey)
