"""Mail made to harm: nothing crashes or leaves the survey folder, every part is accounted for.

The files are made here. Spreadsheet formulas are those that OWASP lists under CSV injection (cells
that begin with =, +, -, @, tab or carriage return); names are those that file systems refuse.
"""

from __future__ import annotations

import csv
import io
import zipfile
import zlib
from collections import Counter
from email.message import EmailMessage
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest
from pictures_made import png
from PIL import Image
from tests_support import NOW, every_part

from triage.cli import main
from triage.determinations import Statement
from triage.exuviae import Site
from triage.pipeline import (
    audit,
    correct,
    determine,
    edit,
    inbox,
    match,
    queueing,
    receive,
    standing,
)
from triage.pipeline.examine import examine
from triage.store import evidence, failures, messages, photos
from triage.store.connection import create_survey, open_survey
from triage.store.dump import canonical_dump

SCRIPT = "<script>alert(1)</script>"
FORMULA = '=HYPERLINK("http://example.org";"x")'
PERSON = "=SUM(A1)"  # one name: what parts people stands in none
ESCAPES = (
    "../../../escaped.jpg",
    "/tmp/escaped.jpg",
    "C:\\escaped.jpg",
    "..\\..\\escaped.jpg",
    "escaped.jpg\x00.exe",
    "CON.jpg",
    "a" * 400 + ".jpg",
    f"{SCRIPT}.jpg",
    FORMULA,
)


def jpeg(seed: int) -> bytes:
    """A picture of coloured patches, large enough to be no logo."""
    out = io.BytesIO()
    patches = np.random.default_rng(seed).integers(0, 255, (6, 9, 3), dtype=np.uint8)
    Image.fromarray(patches).resize((720, 480)).save(out, "JPEG")
    return out.getvalue()


def zipped(**files: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(name.replace("__", "/"), content)
    return out.getvalue()


def letter(number: int, subject: str = "Seen", text: str = "At Alder Pool.") -> EmailMessage:
    mail = EmailMessage()
    mail["From"] = f'"{FORMULA[1:6]} {SCRIPT}" <sender{number}@example.org>'
    mail["Date"] = f"Tue, 21 Jul 2026 18:{number // 60 % 60:02d}:{number % 60:02d} +0200"
    mail["Subject"] = subject
    mail["Message-ID"] = f"<hostile{number}@example.org>"
    mail.set_content(text)
    return mail


def with_photo(mail: EmailMessage, content: bytes, name: str) -> bytes:
    """Attach by hand: the library refuses some of these names."""
    mail.add_attachment(content, maintype="image", subtype="jpeg", filename="NAME-HERE")
    safe = name.replace("\\", "\\\\").replace('"', '\\"')
    return mail.as_bytes().replace(b'"NAME-HERE"', b'"' + safe.encode() + b'"')


def loose_files(folder: Path) -> None:
    whole = jpeg(1)
    bomb = zlib.compress(b"\0" * 1000)
    for name, content in {
        "empty.jpg": b"",
        "cut.jpg": whole[: len(whole) // 2],
        "head_only.jpg": whole[:4],
        "words.jpg": b"this is no picture, only words\n" * 20,
        "page.png": b"<html><script>alert(1)</script></html>",
        "bomb_head.png": png(60_000, 60_000, bomb),
        "nothing_behind.png": png(2**31 - 1, 2**31 - 1, b""),
        "no_pixels.png": png(0, 0, bomb),
        "wide.png": png(65_000, 8, zlib.compress(b"\0" * (8126 * 8))),
        "fine.jpg": whole,
        f"{FORMULA[0]}cmd.jpg": jpeg(2),
    }.items():
        (folder / name).write_bytes(content)


def mails(folder: Path) -> None:
    raws = [with_photo(letter(n, FORMULA), jpeg(10 + n), name) for n, name in enumerate(ESCAPES)]
    raws.append(with_photo(letter(20, SCRIPT, f"{SCRIPT}\x00 {FORMULA}"), jpeg(30), "x.jpg"))
    raws.append(letter(25, text="\x1b[2J\x1b]0;x\x07 \u202eloop redlA").as_bytes())
    raws.append(letter(21).as_bytes().replace(b"Seen", b"Se\x00en\xff\xfe"))
    raws.append(b"From: \n\n")
    raws.append(b"\x00" * 3000)
    raws.append(b"Content-Type: multipart/mixed; boundary=a\n\n--a\n--a\n" * 40)
    packed = letter(22)
    inner = zipped(**{"..__..__escaped.jpg": jpeg(40), "bomb.jpg": b"\0" * 60_000_000})
    packed.add_attachment(inner, maintype="application", subtype="zip", filename="bomb.zip")
    raws.append(packed.as_bytes())
    archive = jpeg(41)
    for _ in range(12):
        archive = zipped(**{"next.zip": archive})
    nested = letter(23)
    nested.add_attachment(archive, maintype="application", subtype="zip", filename="deep.zip")
    raws.append(nested.as_bytes())
    deep = letter(24).as_bytes()
    for number in range(40):
        head = f"Message-ID: <deep{number}@example.org>\nContent-Type: message/rfc822\n\n"
        deep = head.encode() + deep
    raws.append(deep)
    for number, raw in enumerate(raws):
        (folder / f"mail{number}.eml").write_bytes(raw)


@pytest.fixture(scope="module")
def attacked(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A survey that was given all of it with one command."""
    place = tmp_path_factory.mktemp("hostile")
    source = place / "source"
    source.mkdir()
    loose_files(source)
    mails(source)
    before = {path for path in place.rglob("*") if "survey" not in path.parts}
    code = main(["run", str(source), "--survey", str(place / "survey"), "--processes", "1"])
    assert code == 0
    assert {path for path in place.rglob("*") if "survey" not in path.parts} == before
    fill_the_queue(place / "survey")
    return place / "survey"


def fill_the_queue(folder: Path) -> None:
    """Call the patches animals at places with harmful names, so that every page has rows."""
    with open_survey(folder) as survey:
        names = (FORMULA, SCRIPT, "@SUM(A1)", "-2+3+cmd|' /C calc'!A0")
        for number, name in enumerate(names):
            site = Site(
                location_id=f"S{number}",
                locality=name,
                decimal_latitude=53.9,
                decimal_longitude=21.7 + number / 100,
                coordinate_uncertainty_in_meters=20.0,
            )
            evidence.save(survey, [site])
        examine(survey, now=NOW, processes=0)
        shown = [photo for photo, row in photos.load(survey).items() if row.measurement]
        for number, photo in enumerate(shown[:8]):
            edit.add_animal(survey, photo, by=FORMULA, now=NOW)
            place = f"S{number % len(names)}"
            correct.correct(survey, photo, field="place", value=place, by=SCRIPT, now=NOW)
        first = standing.sightings(survey)[0].identifier
        said = Statement(cannot_tell=FORMULA, remarks=f"@{SCRIPT}", second_opinion=True)
        determine.determine(survey, first, said, by=PERSON, now=NOW, new=True)
        match.match(survey)
        assert len(queueing.queue(survey, now=NOW)) >= 6


class Page(HTMLParser):
    """Counts elements, and attributes that run or load something."""

    def __init__(self) -> None:
        super().__init__()
        self.elements: Counter[str] = Counter()
        self.active: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements[tag] += 1
        for name, value in attrs:
            if name.startswith("on") or (value or "").lower().startswith(("javascript:", "http")):
                self.active.append(f"{tag} {name}={value}")


def test_every_part_is_accounted_for_and_nothing_is_damaged(attacked: Path):
    with open_survey(attacked) as survey:
        assert audit.check(survey, now=NOW).damage == ()
        parts = every_part(survey)
        kinds = Counter(part.outcome for part in parts)
        assert kinds["taken in"] >= len(ESCAPES) + 2
        assert all(part.reason for part in parts)
        states = {row.state for row in messages.every(survey)}
        assert states <= {"open", "settled", "set aside"}
        assert all(need.fix and need.text for e in inbox.entries(survey) for need in e.needs)


def test_every_message_can_be_explained_in_lines_that_steer_no_terminal(attacked: Path, capsys):
    with open_survey(attacked) as survey:
        identifiers = [row.identifier for row in messages.every(survey)]
    for identifier in identifiers:
        assert main(["receive", "--explain", identifier, "--survey", str(attacked)]) == 0
        said = capsys.readouterr().out
        assert f"message {identifier[:12]}" in said
        assert not set(said) & set("\x00\x07\x1b\u202e")


def test_nothing_lies_outside_the_folders_of_the_survey(attacked: Path):
    for path in attacked.rglob("*"):
        assert "escaped" not in path.name
        if path.is_file() and path.parent != attacked:
            assert path.parent.parent.name in ("originals", "messages", "previews"), path
            assert len(path.stem) == 64
    assert not Path("/tmp/escaped.jpg").exists()


def test_what_cannot_be_read_is_said_with_its_name_and_a_next_step(attacked: Path):
    with open_survey(attacked) as survey:
        texts = {
            need.text.split(":")[0]: need
            for entry in inbox.entries(survey)
            for need in entry.needs
            if need.kind == "unreadable"
        }
        assert {"cut.jpg", "bomb_head.png"} <= texts.keys() | {
            part.file_name
            for part in every_part(survey)
            if part.outcome != "taken in" and part.reason
        }
        assert all(": " in need.text and "--ask original" in need.fix for need in texts.values())
        assert all(one.reason for one in failures.every(survey))


def test_the_sheet_holds_no_markup_of_the_mail(attacked: Path, tmp_path: Path):
    page = tmp_path / "queue.html"
    assert main(["queue", "--survey", str(attacked), "--html", str(page)]) == 0
    text = page.read_text(encoding="utf-8")
    found = Page()
    found.feed(text)
    assert found.elements["html"] == 1
    assert "alert(1)" in text
    assert "alert(1)" not in text.replace("&lt;script&gt;alert(1)&lt;/script&gt;", "")
    assert found.active == []


def test_no_cell_of_any_table_begins_as_a_formula(attacked: Path, tmp_path: Path):
    assert main(["queue", "--survey", str(attacked), "--csv", str(tmp_path / "queue.csv")]) == 0
    out = tmp_path / "export"
    assert main(["export", "--survey", str(attacked), "--to", str(out), "--internal"]) == 0
    tables = sorted(tmp_path.rglob("*.csv"))
    assert len(tables) > 3
    for table in tables:
        with table.open(encoding="utf-8-sig", newline="") as file:
            for row in csv.reader(file):
                for cell in row:
                    harmless = not cell.startswith(("=", "@", "\t", "\r")) and (
                        not cell.startswith(("+", "-")) or _is_number(cell)
                    )
                    assert harmless, f"{table.name}: {cell!r}"


def _is_number(cell: str) -> bool:
    try:
        float(cell)
    except ValueError:
        return False
    return True


def test_a_second_run_changes_nothing(attacked: Path):
    with open_survey(attacked) as survey:
        before = list(canonical_dump(survey))
    source = attacked.parent / "source"
    assert main(["run", str(source), "--survey", str(attacked), "--processes", "1"]) == 0
    with open_survey(attacked) as survey:
        assert list(canonical_dump(survey)) == before


def test_thousands_of_tiny_mails_are_each_a_message(tmp_path: Path):
    box = tmp_path / "tiny.mbox"
    with box.open("wb") as out:
        for number in range(2_000):
            out.write(b"From a@example.org Tue Jul 21 18:00:00 2026\n")
            out.write(f"Message-ID: <tiny{number}@example.org>\n\n{number}\n\n".encode())
    create_survey(tmp_path / "survey")
    with open_survey(tmp_path / "survey") as survey:
        outcome = receive.take_in(survey, [box], now=NOW)
        assert (outcome.received, outcome.unreadable) == (2_000, ())
        assert messages.counts(survey)[0] == 2_000


def test_one_bad_photo_leaves_the_rest_of_its_mail_whole(tmp_path: Path):
    mail = letter(1, text="Seen on 20 July 2026.")
    for name, content in (("bad.jpg", jpeg(1)[:200]), ("good.jpg", jpeg(2))):
        mail.add_attachment(content, maintype="image", subtype="jpeg", filename=name)
    (tmp_path / "two.eml").write_bytes(mail.as_bytes())
    folder = str(tmp_path / "survey")
    assert main(["run", str(tmp_path / "two.eml"), "--survey", folder, "--processes", "1"]) == 0
    with open_survey(Path(folder)) as survey:
        (entry,) = inbox.entries(survey)
        found = {(need.text.split(":")[0], need.kind) for need in entry.needs}
    assert ("bad.jpg", "unreadable") in found
    assert ("good.jpg", "no insect") in found
    assert ("good.jpg", "unreadable") not in found


def test_a_source_that_is_not_there_is_named_with_what_to_do(tmp_path: Path, capsys):
    assert main(["run", str(tmp_path / "none"), "--survey", str(tmp_path / "survey")]) != 0
    said = capsys.readouterr().err
    assert "none" in said
    assert "Check the spelling" in said
