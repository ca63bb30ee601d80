"""Forgetting reaches every way a mail can come and every container it can be in."""

from __future__ import annotations

import mailbox
from collections.abc import Callable
from pathlib import Path

import pytest
from mail_making import file_part, header, mbox_file, multipart, picture, text_part, zip_file
from tests_support import NOW
from wrapping import compound_file, outlook_storage, tnef, uuencoded

from triage.pipeline import audit, persons, receive
from triage.store.connection import create_survey, open_survey

NAME, ADDRESS, SECRET = "Ada Finch", "ada@example.org", "my garden pond"
PHOTO = picture()
LETTER = f"I saw it at {SECRET}. {NAME}\n"
PLAIN = header(From=f"{NAME} <{ADDRESS}>") + multipart(
    text_part(LETTER), file_part(PHOTO, "ada finch.jpg")
)
OUTLOOK = compound_file(
    outlook_storage(
        text=LETTER,
        transport_headers=f"From: {NAME} <{ADDRESS}>\nMessage-ID: <o@example.org>\n",
        files=[("ada.jpg", PHOTO, "")],
    )
)


def written(folder: Path, name: str, content: bytes) -> Path:
    path = folder / name
    path.write_bytes(content)
    return path


def maildir(folder: Path) -> Path:
    box = mailbox.Maildir(folder / "box")
    box.add(PLAIN)
    return folder / "box"


SOURCES: dict[str, Callable[[Path], Path]] = {
    "eml": lambda folder: written(folder, "a.eml", PLAIN),
    "emlx": lambda folder: written(folder, "a.emlx", b"%d\n" % len(PLAIN) + PLAIN + b"<plist/>"),
    "msg": lambda folder: written(folder, "a.msg", OUTLOOK),
    "mbox": lambda folder: written(folder, "a.mbox", mbox_file([PLAIN])),
    "maildir": maildir,
    "folder": lambda folder: written(folder, "a.eml", PLAIN).parent,
    "zip of eml": lambda folder: written(folder, "a.zip", zip_file({"x/a.eml": PLAIN})),
    "zip of msg": lambda folder: written(folder, "a.zip", zip_file({"x/a.msg": OUTLOOK})),
    "zip of mbox": lambda folder: written(folder, "a.zip", zip_file({"a": mbox_file([PLAIN])})),
}

WORDS = LETTER.encode() + ADDRESS.encode()
DEEP = PLAIN
for _ in range(12):
    DEEP = header(From=f"{NAME} <{ADDRESS}>") + b"Content-Type: message/rfc822\n\n" + DEEP
CONTAINERS = {
    "a forwarded mail": multipart(b"Content-Type: message/rfc822\n\n" + PLAIN),
    "mails nested too deep": DEEP.partition(b"\n")[2],
    "an attached Outlook message": file_part(OUTLOOK, "a.msg"),
    "a damaged Outlook message": file_part(OUTLOOK[:-4000], "a.msg"),
    "a zip": file_part(zip_file({"a.txt": WORDS, "a.jpg": PHOTO}), "a.zip"),
    "a damaged zip": file_part(
        zip_file({"a.txt": WORDS, "b.txt": WORDS}, compression=0).replace(b"garden", b"GARDEN", 1),
        "a.zip",
    ),
    "a winmail.dat": file_part(tnef({"a.txt": WORDS}, body=LETTER), "winmail.dat"),
    "a winmail.dat cut off": file_part(tnef({"a.txt": WORDS}, body=LETTER)[:-40], "winmail.dat"),
    "a document": file_part(b"%PDF-1.4 " + WORDS, "a.pdf", content_type="application/pdf"),
    "a text file": file_part(WORDS, "a.csv", content_type="text/csv"),
    "a uuencoded file": text_part(b"Hi\n" + uuencoded("a.txt", WORDS) + b"\n"),
    "a picture that is none": file_part(WORDS, "a.jpg"),
}


def traces(folder: Path) -> list[str]:
    """Files of the survey, previews and photos' pixels aside, in which the person still stands."""
    found = []
    for path in folder.rglob("*"):
        if not path.is_file() or "previews" in path.parts:
            continue
        content = path.read_bytes().lower()
        for word in (NAME, ADDRESS, SECRET):
            lowered = word.lower()
            if lowered.encode() in content or lowered.encode("utf-16-le") in content:
                found.append(f"{path.relative_to(folder)}: {word}")
    return found


def forgotten(source: Path, folder: Path, *, photos: bool = False) -> Path:
    create_survey(folder)
    with open_survey(folder) as survey:
        receive.take_in(survey, [source], now=NOW)
        assert traces(folder), "the person should be there before"
        persons.forget(survey, ADDRESS, now=NOW, photos=photos)
        checked = audit.check(survey, now=NOW)
        assert checked.damage == ()
        assert not [line for line in checked.not_done if "interrupted" in line]
    return folder


@pytest.mark.parametrize("name", SOURCES)
def test_forgetting_reaches_every_source(name: str, tmp_path: Path):
    (tmp_path / "in").mkdir()
    folder = forgotten(SOURCES[name](tmp_path / "in"), tmp_path / "survey")
    assert traces(folder) == []
    assert [path for path in (folder / "messages").rglob("*") if path.is_file()] == []


@pytest.mark.parametrize("name", CONTAINERS)
def test_forgetting_reaches_every_container(name: str, tmp_path: Path):
    mail = header(From=f"{NAME} <{ADDRESS}>") + CONTAINERS[name]
    folder = forgotten(written(tmp_path, "a.eml", mail), tmp_path / "survey")
    assert traces(folder) == []


def kept(folder: Path) -> list[Path]:
    return [
        path
        for name in ("messages", "originals", "previews")
        for path in (folder / name).rglob("*")
        if path.is_file()
    ]


@pytest.mark.parametrize("name", SOURCES)
def test_with_the_photos_nothing_is_left_of_any_source(name: str, tmp_path: Path):
    (tmp_path / "in").mkdir()
    folder = forgotten(SOURCES[name](tmp_path / "in"), tmp_path / "survey", photos=True)
    assert traces(folder) == []
    assert kept(folder) == []


@pytest.mark.parametrize("name", CONTAINERS)
def test_with_the_photos_nothing_is_left_of_any_container(name: str, tmp_path: Path):
    mail = header(From=f"{NAME} <{ADDRESS}>") + CONTAINERS[name]
    folder = forgotten(written(tmp_path, "a.eml", mail), tmp_path / "survey", photos=True)
    assert traces(folder) == []
    assert kept(folder) == []
