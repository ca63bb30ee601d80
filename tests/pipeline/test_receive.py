"""What a message became, told from the survey's rows: nothing that came is left out."""

from __future__ import annotations

import io
import zipfile
from email.message import EmailMessage
from pathlib import Path

import numpy as np
from PIL import Image
from tests_support import NOW

from triage.cli import message_account
from triage.inbox.facts import WORDS_SHOWN
from triage.pipeline import persons, receive
from triage.store import messages
from triage.store.connection import create_survey, open_survey


def letter(sender: str, text: str) -> EmailMessage:
    mail = EmailMessage()
    mail["From"] = sender
    mail["Subject"] = "Seen today"
    mail.set_content(text)
    return mail


def jpeg() -> bytes:
    out = io.BytesIO()
    patches = np.random.default_rng(0).integers(0, 255, (6, 8, 3), dtype=np.uint8)
    Image.fromarray(patches).resize((640, 480)).save(out, "JPEG")
    return out.getvalue()


def with_everything() -> EmailMessage:
    """A mail with a link, a quoted line, a forwarded mail with a photo, and a zip archive."""
    inner = letter("Ben Reed <ben@example.org>", "At Alder Pool.\n")
    inner.add_attachment(jpeg(), maintype="image", subtype="jpeg", filename="a.jpg")
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        archive.writestr("b.jpg", b"broken")
    mail = letter("Ada Finch <ada@example.org>", "See https://photos.app.goo.gl/abc\n> old\n")
    mail["Received"] = "from a by b; Sun, 14 Jun 2026 18:06:00 +0200"
    mail["Date"] = "Sun, 14 Jun 2026 18:05:00 +0200"
    mail["Message-ID"] = "<one@example.org>"
    mail.add_attachment(inner)
    mail.add_attachment(packed.getvalue(), maintype="application", subtype="zip", filename="b.zip")
    return mail


def explained(folder: Path, mail: EmailMessage) -> list[str]:
    (folder / "one.eml").write_bytes(mail.as_bytes())
    create_survey(folder / "survey")
    with open_survey(folder / "survey") as survey:
        receive.take_in(survey, [folder / "one.eml"], now=NOW)
        (row,) = messages.every(survey)
        return message_account.account_of(survey, row.identifier[:12])


def test_every_part_and_every_author_has_its_line(tmp_path: Path):
    first, *lines = explained(tmp_path, with_everything())
    assert first.startswith("message ")
    assert first.endswith("one.eml: open (not examined yet)")
    assert lines == [
        "  Message-ID: one@example.org",
        "  received: 2026-06-14T18:06:00+02:00",
        "  from: Ada Finch ada@example.org, 2026-06-14T18:05:00+02:00",
        "    subject: Seen today",
        "    wrote: See https://photos.app.goo.gl/abc",
        "    quoted, not read for place or date: 1 line",
        "  forwarded mail 1, from: Ben Reed ben@example.org, no date",
        "    subject: Seen today",
        "    wrote: At Alder Pool.",
        "  part 1 (text/plain): nothing to keep: the message's text, read",
        "  part 2 (message/rfc822): nothing to keep: a forwarded mail, opened",
        "  part 2.1 (text/plain, of forwarded mail 1): nothing to keep: the message's text, read",
        f"  part 2.2 a.jpg (image/jpeg, {len(jpeg())} bytes, of forwarded mail 1): taken in: "
        "a picture of 640 x 480 pixels, attached",
        "  part 3 b.zip (application/zip): nothing to keep: a zip archive, 1 file opened",
        "  part 3/b.zip/b.jpg b.jpg (application/octet-stream, 6 bytes): kept, other kind: "
        "a file of unknown kind; not examined",
        "  link, not followed: https://photos.app.goo.gl/abc",
    ]


def test_a_long_text_is_cut(tmp_path: Path):
    lines = explained(tmp_path, letter("Ada Finch <ada@example.org>", "reed " * 100))
    (wrote,) = (line for line in lines if line.startswith("    wrote: "))
    assert wrote.endswith("...")
    assert len(wrote.removeprefix("    wrote: ")) == WORDS_SHOWN


def test_of_a_person_who_was_forgotten_neither_name_nor_words_are_told(tmp_path: Path):
    explained(tmp_path, with_everything())
    with open_survey(tmp_path / "survey") as survey:
        persons.forget(survey, "ada@example.org", now=NOW)
        (row,) = messages.every(survey)
        lines = "\n".join(message_account.account_of(survey, row.identifier))
    for gone in ("Ada", "ada@", "See https", "goo.gl", "b.zip"):
        assert gone not in lines
    # What another had written, and was forwarded, is not the forgotten person's to take along.
    assert lines.count("Seen today") == lines.count("wrote: At Alder Pool.") == 1
    assert "part forgotten/3 a.jpg (image/jpeg" in lines
