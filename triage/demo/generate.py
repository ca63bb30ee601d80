"""Makes the demo in a folder: inbox, loose photos, tables and the truth about them."""

from __future__ import annotations

import shutil
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from triage.demo.camera_files import encode, shrink
from triage.demo.data_files import FOLDER, TABLES
from triage.demo.letters import letters
from triage.demo.mail_file import Attachment, as_mbox, compose
from triage.demo.oddities import extra_file, screen
from triage.demo.scenario import DEVICES, Letter, Picture
from triage.demo.shots import Exposure, expose
from triage.demo.truth import (
    Rows,
    extra_row,
    picture_row,
    rows_of_loose_files,
    rows_of_mails,
    write_truth,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class DemoOutcome:
    """What was written: the folder, and how many mails, photos and bytes."""

    folder: Path
    mails: int
    photos: int
    byte_size: int


@dataclass(slots=True)
class _Darkroom:
    """What has been exposed so far, by file name, for copies of it."""

    seed: int
    scale: float
    pixels: dict[str, NDArray[np.uint8]]
    files: dict[str, bytes]
    originals: dict[str, tuple[Picture, Exposure]]


def generate(folder: Path, *, seed: int = 2026, scale: float = 1.0) -> DemoOutcome:
    """Make the demo of the Linnet Water Survey in a folder; files of the same names are replaced.

    The same seed gives the same scenario, truth and pictures. A scale of 1 makes these 1,000 to
    1,200 pixels wide.
    """
    photos = folder / "photos"
    photos.mkdir(parents=True, exist_ok=True)
    room = _Darkroom(seed, scale, {}, {}, {})
    attachments: dict[str, list[Attachment]] = {}
    rows: Rows = {}
    every = letters()
    for letter in every:
        for one in (*letter.forwards, letter):
            attachments[one.key] = _develop_letter(one, room, rows)
    mails = [(letter.day, compose(letter, attachments)) for letter in every]
    twice = next(pair for letter, pair in zip(every, mails, strict=True) if letter.key == "link")
    (folder / "inbox.mbox").write_bytes(as_mbox([*mails, twice]))
    loose = [p.file_name for letter in every for p in letter.pictures if p.loose]
    for name in loose:
        (photos / name).write_bytes(room.files[name])
    for name in TABLES:
        shutil.copyfile(FOLDER / name, folder / name)
    truth = rows_of_mails([(x, mail) for x, (_, mail) in zip(every, mails, strict=True)], rows)
    write_truth(folder / "truth.csv", [*truth, *rows_of_loose_files(loose, rows)])
    size = sum(path.stat().st_size for path in folder.rglob("*") if path.is_file())
    count = sum(1 for row in truth if row["expected_outcome"] == "taken in")
    return DemoOutcome(folder=folder, mails=len(mails) + 1, photos=count, byte_size=size)


_DECLARED = {"JPEG": "image/jpeg", "HEIF": "image/heic", "PNG": "image/png", "WEBP": "image/webp"}


def _develop_letter(letter: Letter, room: _Darkroom, rows: Rows) -> list[Attachment]:
    made = []
    for picture in letter.pictures:
        content = _file(picture, room)
        made.append(
            Attachment(
                file_name=picture.file_name,
                content=content,
                declared=picture.declared or _DECLARED[picture.kind],
                inline=picture.inline,
            )
        )
        source, exposure = room.originals[picture.copy_of or picture.file_name]
        rows[letter.key, picture.file_name] = picture_row(picture, source, exposure, content)
    for extra in letter.extras:
        content, declared = extra_file(extra.maker)
        made.append(
            Attachment(
                file_name=extra.file_name, content=content, declared=declared, inline=extra.inline
            )
        )
        rows[letter.key, extra.file_name] = extra_row(extra, content)
    return made


def _file(picture: Picture, room: _Darkroom) -> bytes:
    """Expose or copy one picture and keep its file."""
    if picture.copy_of:
        original = room.files[picture.copy_of]
        if picture.kind == "PNG":
            return encode(screen(room.pixels[picture.copy_of]), picture, DEVICES["pocket"])
        return shrink(original, picture.shrink, picture.quality) if picture.shrink else original
    if picture.shot is None:
        raise ValueError(f"{picture.file_name}: neither a shot nor a copy")
    upright = replace(
        picture.shot,
        width=round(picture.shot.width * room.scale),
        height=round(picture.shot.height * room.scale),
        seed=picture.shot.seed + room.seed * 1000,
    )
    if picture.orientation in (6, 8):
        upright = replace(upright, width=upright.height, height=upright.width)
    exposure = expose(upright)
    content = encode(exposure.pixels, picture, DEVICES[picture.device])
    room.pixels[picture.file_name] = exposure.pixels
    room.files[picture.file_name] = content
    room.originals[picture.file_name] = (picture, exposure)
    return content
