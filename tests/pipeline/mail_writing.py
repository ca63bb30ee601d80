"""Mails written for tests: invented people at example.org, small pictures of one colour."""

from __future__ import annotations

import io
from datetime import datetime
from email.message import EmailMessage
from pathlib import Path

from PIL import Image

from triage.pipeline import inbox, proposals, receive
from triage.pipeline.examine import examine
from triage.store import grouping, messages
from triage.store.connection import Survey


def picture(
    seed: int,
    *,
    taken: str = "",
    point: tuple[float, float] | None = None,
    offset: str = "+02:00",
    camera: tuple[str, ...] = (),
    fixed_at: str = "",
) -> bytes:
    """A JPEG of stripes, with time, fix (and its UTC), make, model, serial number, if any."""
    image = Image.new("RGB", (480, 360), (seed * 37 % 200, seed * 61 % 200, 90))
    for column in range(0, 480, 30):
        colour = ((seed * 17 + column) % 256, 60, (column * seed) % 256)
        image.paste(colour, (column, 0, column + 15, 360))
    exif = Image.Exif()
    if taken:
        exif.get_ifd(0x8769)[0x9003] = taken
        if offset:
            exif.get_ifd(0x8769)[0x9011] = offset
    for tag, words in zip((0x010F, 0x0110), camera, strict=False):
        exif[tag] = words
    for words in camera[2:]:
        exif.get_ifd(0x8769)[0xA431] = words
    if point is not None:
        gps = exif.get_ifd(0x8825)
        for key, value, letters in ((1, point[0], "NS"), (3, point[1], "EW")):
            gps[key] = letters[value < 0]
            degrees = abs(value)
            minutes = (degrees % 1) * 60
            gps[key + 1] = (float(int(degrees)), float(int(minutes)), (minutes % 1) * 60)
    if fixed_at:
        day, clock = fixed_at.split()
        exif.get_ifd(0x8825)[29] = day
        exif.get_ifd(0x8825)[7] = tuple(map(float, clock.split(":")))
    file = io.BytesIO()
    image.save(file, "JPEG", exif=exif)
    return file.getvalue()


def letter(
    text: str,
    *,
    number: int,
    subject: str = "",
    sender: str = "Sam Ferry <sam.ferry@example.org>",
    sent: str = "Sun, 14 Jun 2026 18:00:00 +0200",
    pictures: tuple[bytes, ...] = (),
    headers: tuple[tuple[str, str], ...] = (),
) -> EmailMessage:
    """One mail as a mail program writes it."""
    mail = EmailMessage()
    mail["From"] = sender
    mail["To"] = "linnet@example.org"
    mail["Date"] = sent
    mail["Subject"] = subject
    mail["Message-ID"] = f"<letter-{number}@example.org>"
    for name, value in headers:
        mail[name] = value
    mail.set_content(text)
    for count, content in enumerate(pictures):
        name = f"p{number}-{count}.jpg"
        mail.add_attachment(content, maintype="image", subtype="jpeg", filename=name)
    return mail


def take_in(survey: Survey, folder: Path, mails: list[EmailMessage], *, now: datetime) -> list[str]:
    """Receive and examine mails; their identifiers in the order given.

    What the pictures show is put into their measurements: each is a dragonfly.
    """
    folder.mkdir(exist_ok=True)
    before = len(list(folder.iterdir()))
    paths = [folder / f"{before + number:03}.eml" for number in range(len(mails))]
    for path, mail in zip(paths, mails, strict=True):
        path.write_bytes(mail.as_bytes())
    receive.take_in(survey, paths, now=now)
    examine(survey, now=now, processes=0)
    rows = [messages.find(survey, str(mail["Message-ID"]).strip("<>")) for mail in mails]
    with survey.transaction():
        survey.connection.execute("update measurements set odonate = 0.95, kind = 'adult'")
        grouping.mark_everything_dirty(survey)
        messages.make_due(survey, [row.row for row in rows])
    proposals.propose(survey)
    inbox.settle_states(survey, now=now)
    return [row.identifier for row in rows]
