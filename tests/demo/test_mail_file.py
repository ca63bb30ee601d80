"""Letters become mails as mail programs write them: read back with the standard library."""

from __future__ import annotations

import email
import email.policy
import mailbox
from dataclasses import replace
from datetime import datetime
from email.message import EmailMessage
from io import BytesIO
from pathlib import Path
from zipfile import ZipFile

import pytest

from triage.demo.data_files import TABLES, read_table, read_toml
from triage.demo.mail_file import Attachment, as_mbox, compose
from triage.demo.oddities import extra_file, logo, screen
from triage.demo.scenario import Letter

PHOTO = Attachment(file_name="a.jpg", content=b"\xff\xd8 photo", declared="image/jpeg")
PLAIN = Letter(
    key="k", sender="ida", day=datetime(2026, 6, 14, 18), subject="Ważka", text="Grüße\n"
)


def read_back(mail: EmailMessage) -> EmailMessage:
    found = email.message_from_bytes(mail.as_bytes(), policy=email.policy.default)
    assert isinstance(found, EmailMessage)
    assert not found.defects
    return found


def test_a_letter_is_read_back_with_its_words_and_its_file():
    mail = read_back(compose(PLAIN, {"k": [PHOTO]}))
    assert mail["From"] == "Ida Kvist <ida.kvist@example.org>"
    assert mail["Subject"] == "Ważka"
    assert mail["Date"].datetime.isoformat() == "2026-06-14T18:00:00+02:00"  # summer in Warsaw
    body = mail.get_body(("plain",))
    assert body is not None
    assert body.get_content().splitlines() == ["Grüße"]
    (file,) = mail.iter_attachments()
    assert (file.get_filename(), file.get_content()) == ("a.jpg", PHOTO.content)


def test_a_picture_in_the_text_is_named_by_the_page_that_shows_it():
    letter = replace(PLAIN, text="", html='<img src="cid:a.jpg">')
    mail = read_back(compose(letter, {"k": [replace(PHOTO, inline=True)]}))
    (shown,) = [part for part in mail.walk() if part.get_content_type() == "image/jpeg"]
    assert shown["Content-ID"] == "<a.jpg>"
    assert shown.get_content_disposition() == "inline"


def test_a_zip_holds_the_files_under_their_names():
    mail = read_back(compose(replace(PLAIN, zipped="photos.zip"), {"k": [PHOTO]}))
    (file,) = mail.iter_attachments()
    with ZipFile(BytesIO(file.get_content())) as archive:
        assert archive.namelist() == ["a.jpg"]
        assert archive.read("a.jpg") == PHOTO.content


def test_a_forwarded_letter_keeps_its_sender_and_its_file():
    inner = replace(PLAIN, key="inner", sender="olga")
    outer = replace(PLAIN, forwards=(inner,))
    mail = read_back(compose(outer, {"inner": [PHOTO]}))
    (carried,) = [part for part in mail.walk() if part.get_content_type() == "message/rfc822"]
    inside = carried.get_payload(0)
    assert isinstance(inside, EmailMessage)
    assert inside["From"] == "Olga Trzcina <olga.trzcina@example.org>"
    assert [part.get_filename() for part in inside.iter_attachments()] == ["a.jpg"]


@pytest.mark.parametrize(
    ("automatic", "header", "kind"),
    [
        ("auto-reply", "auto-replied", "text/plain"),
        ("bounce", "auto-replied", "multipart/report"),
        ("", None, "text/plain"),
    ],
)
def test_what_a_machine_sent_says_so(automatic: str, header: str | None, kind: str):
    """Auto-Submitted: RFC 3834, section 5; delivery reports: RFC 3464."""
    mail = read_back(compose(replace(PLAIN, automatic=automatic), {}))
    assert mail["Auto-Submitted"] == header
    assert mail.get_content_type() == kind


def test_an_mbox_gives_back_every_mail_whatever_its_lines_begin_with(tmp_path: Path):
    text = "From the pond\n>From before\nnothing\n"
    letters = [replace(PLAIN, key=f"k{n}", text=text) for n in range(3)]
    path = tmp_path / "box.mbox"
    path.write_bytes(as_mbox([(one.day, compose(one, {})) for one in letters]))
    box = mailbox.mbox(path, create=False)
    keys = list(box.keys())
    assert len(keys) == 3
    raw = box.get_bytes(keys[0])
    box.close()
    assert b"\n>From the pond" in raw
    assert b"\n>>From before" in raw


@pytest.mark.parametrize(
    ("maker", "begins", "kind"),
    [
        ("logo", b"\x89PNG", "image/png"),
        ("pixel", b"GIF8", "image/gif"),
        ("pdf", b"%PDF-1.4", "application/pdf"),
        ("video", b"\x00\x00\x00\x18ftyp", "video/mp4"),
        ("resource fork", b"\x00\x05\x16\x07", "application/applefile"),
    ],
)
def test_other_files_are_of_the_kind_they_say(maker: str, begins: bytes, kind: str):
    content, declared = extra_file(maker)
    assert content.startswith(begins)
    assert declared == kind


def test_an_attachment_that_nobody_makes_is_refused():
    with pytest.raises(ValueError, match="calendar"):
        extra_file("calendar")


def test_a_screen_shows_the_picture_between_its_bars():
    shown = screen(logo(), width=200, height=400)
    assert shown.shape == (400, 200, 3)
    assert shown[200].max() == 255
    assert shown[90].max() < 30


def test_every_list_in_a_file_of_the_story_is_a_tuple():
    def lists(value: object) -> list[object]:
        inner = value.values() if isinstance(value, dict) else value
        found = [value] if isinstance(value, list) else []
        if isinstance(inner, str) or not hasattr(inner, "__iter__"):
            return found
        return [*found, *(x for one in inner for x in lists(one))]

    for name in ("looks.toml", "people.toml", "views.toml", "letters/plain.toml"):
        assert lists(read_toml(name)) == [], name


@pytest.mark.parametrize("name", TABLES)
def test_every_table_of_the_story_has_a_first_column_that_names_its_rows(name: str):
    rows = read_table(name)
    first = next(iter(rows[0]))
    names = [row[first] for row in rows]
    assert len(set(names)) == len(names)
    assert all(names)
