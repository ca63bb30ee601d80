"""After forgetting a person the survey holds nothing of theirs, or says in words what it keeps."""

import base64
import io
import sqlite3
import zipfile

import pytest
from tests_support import NOW

from triage.pipeline import audit, persons, receive, tables
from triage.store.connection import create_survey, open_survey

NAME, ADDRESS = "Żaneta Quux", "zaneta@example.org"
FROM = f"From: =?utf-8?q?=C5=BBaneta_Quux?= <{ADDRESS}>\nDate: Sun, 14 Jun 2026 18:05:00 +0200\n"


def archive() -> bytes:
    kept = io.BytesIO()
    with zipfile.ZipFile(kept, "w") as file:
        file.writestr("zaneta at home.txt", "at the garden pond")
    return kept.getvalue()


@pytest.fixture
def folder(tmp_path):
    mails = tmp_path / "in"
    mails.mkdir()
    own = "\n".join(
        (
            f"{FROM}Message-ID: <1@example.org>\nSubject: Seen\nMIME-Version: 1.0",
            'Content-Type: multipart/mixed; boundary="b"\n',
            "--b\nContent-Type: text/plain; charset=utf-8\n\nAt the garden pond.\n",
            '--b\nContent-Type: application/zip; name="a.zip"',
            'Content-Disposition: attachment; filename="a.zip"',
            "Content-Transfer-Encoding: base64\n",
            f"{base64.encodebytes(archive()).decode()}--b--\n",
        )
    )
    (mails / "own.eml").write_bytes(own.encode())
    other = (
        "From: Ida Moss <ida@example.org>\nDate: Sun, 14 Jun 2026 19:05:00 +0200\n"
        "Message-ID: <2@example.org>\nSubject: Too\nContent-Type: text/plain; charset=utf-8\n\n"
        f"Yes.\n\nOn 14 June 2026 {NAME} wrote:\n> I saw it at home\n"
    )
    (mails / "other.eml").write_bytes(other.encode())
    create_survey(tmp_path / "survey")
    with open_survey(tmp_path / "survey") as survey:
        receive.take_in(survey, [mails], now=NOW)
        for kind, content in (
            ("visits", f"eventID,locationID,eventDate,recordedBy\nV1,A,2026-06-13,{NAME}\n"),
            (
                "lots",
                "catalogNumber,eventID,scientificName,individualCount,recordedBy,"
                "occurrenceRemarks\n"
                'L1,V1,Anax imperator,3,"Quux, Żaneta",given by Ż. Quux\n',
            ),
        ):
            path = tmp_path / f"{kind}.csv"
            path.write_text(content, encoding="utf-8")
            tables.import_table(survey, kind, path, by=NAME, now=NOW)
        (survey.folder / "sheet.csv").write_text(f"by\n{NAME}\n", encoding="utf-8")
    return tmp_path / "survey"


def test_name_address_and_names_of_files_are_gone_from_every_row(folder):
    with open_survey(folder) as survey:
        persons.forget(survey, ADDRESS, now=NOW)
        assert audit.check(survey, now=NOW).damage == ()
        told = "\n".join(survey.connection.iterdump())
    for words in (NAME, "Quux, Żaneta", ADDRESS, "garden pond", "zaneta at home", "\\u017b"):
        assert words not in told, words
    for path in folder.rglob("*"):
        if path.is_file() and path.name.startswith("survey.db"):
            assert ADDRESS.encode() not in path.read_bytes()


def test_what_stays_is_said_with_where_it_is(folder):
    with open_survey(folder) as survey:
        outcome = persons.forget(survey, ADDRESS, now=NOW)
    said = "\n".join(outcome.sentences)
    assert "1 mail of others that name, quote or answer them" in said
    assert "1 text of lots with the word 'Quux'" in said
    assert "sheet.csv in the survey's folder holds their name" in said
    assert "survey.toml" not in said
    assert "kept as they came, with" not in said  # none was sent


def test_rows_changed_before_are_still_noticed_afterwards(folder):
    connection = sqlite3.connect(folder / "survey.db")
    with connection:
        connection.execute("update parts set media_type = 'text/x' where rowid = 1")
    connection.close()
    with open_survey(folder) as survey:
        persons.forget(survey, ADDRESS, now=NOW)
        assert any("parts were changed" in line for line in audit.check(survey, now=NOW).damage)
