"""A folder in, the whole demo (inbox, loose photos, tables and their truth) in it out."""

from __future__ import annotations

import csv
import hashlib
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from triage.demo.camera_files import encode, fix, shrink
from triage.demo.letters import letters
from triage.demo.mail_file import Attachment, as_mbox, compose
from triage.demo.oddities import extra_file, screen
from triage.demo.scenario import DEVICES, WATERS, Letter, Picture
from triage.demo.shots import Exposure, expose
from triage.demo.tables import write_tables

TRUTH_COLUMNS = (
    "message_id",
    "container",
    "file_name",
    "sha256",
    "sender",
    "expected_outcome",
    "expected_reason",
    "expected_event_date",
    "time_from",
    "expected_location_id",
    "expected_latitude",
    "expected_longitude",
    "place_from",
    "copy_group",
    "sighting",
    "shows",
    "is_odonate",
    "scientific_name",
    "view",
    "focus",
    "box",
    "expected_question",
    "note",
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


def generate(
    folder: Path,
    *,
    seed: int = 2026,
    scale: float = 1.0,
    progress: Callable[[str], None] | None = None,
) -> DemoOutcome:
    """Make the demo of the Linnet Water Survey.

    Parameters
    ----------
    folder : Path
        Made if absent; files of the same names are replaced.
    seed : int
        The same seed gives the same scenario, truth and pictures.
    scale : float
        Size of the pictures; 1 makes them 1,000 to 1,200 pixels wide.
    progress : callable, optional
        Called with the name of each photo as it is made.

    Returns
    -------
    DemoOutcome

    Raises
    ------
    OSError
        If the folder cannot be written.
    """
    photos = folder / "photos"
    photos.mkdir(parents=True, exist_ok=True)
    room = _Darkroom(seed, scale, {}, {}, {})
    rows: list[dict[str, str]] = []
    attachments: dict[str, list[Attachment]] = {}
    every = letters()
    for letter in every:
        for one, container in _with_inner(letter):
            made = _develop_letter(one, container, letter, room, rows, progress)
            attachments[one.key] = made
    for name in _loose(every):
        (photos / name).write_bytes(room.files[name])
        rows.append(_loose_row(name, rows))
    mails = [(letter.day, compose(letter, attachments)) for letter in every]
    twice = next(pair for letter, pair in zip(every, mails, strict=True) if letter.key == "link")
    (folder / "inbox.mbox").write_bytes(as_mbox([*mails, twice]))
    write_tables(folder)
    _write_truth(folder / "truth.csv", rows)
    size = sum(path.stat().st_size for path in folder.rglob("*") if path.is_file())
    count = sum(1 for row in rows if row["expected_outcome"] == "taken in" and row["message_id"])
    return DemoOutcome(folder=folder, mails=len(mails) + 1, photos=count, byte_size=size)


def _with_inner(letter: Letter) -> list[tuple[Letter, str]]:
    inner = [(one, "message/rfc822") for one in letter.forwards]
    return [*inner, (letter, letter.zipped)]


def _loose(every: tuple[Letter, ...]) -> list[str]:
    return [p.file_name for letter in every for p in letter.pictures if p.loose]


def _develop_letter(
    letter: Letter,
    container: str,
    outer: Letter,
    room: _Darkroom,
    rows: list[dict[str, str]],
    progress: Callable[[str], None] | None,
) -> list[Attachment]:
    made = []
    for picture in letter.pictures:
        if progress is not None:
            progress(picture.file_name)
        content = _file(picture, room)
        declared = (
            picture.declared
            or {
                "JPEG": "image/jpeg",
                "HEIF": "image/heic",
                "PNG": "image/png",
                "WEBP": "image/webp",
            }[picture.kind]
        )
        made.append(
            Attachment(
                file_name=picture.file_name,
                content=content,
                declared=declared,
                inline=picture.inline,
            )
        )
        rows.append(_picture_row(picture, letter, container, outer, content, room))
    for extra in letter.extras:
        content, declared = extra_file(extra.maker)
        made.append(
            Attachment(
                file_name=extra.file_name, content=content, declared=declared, inline=extra.inline
            )
        )
        rows.append(
            _row(
                outer,
                letter,
                container,
                extra.file_name,
                content,
                expected_outcome=extra.outcome,
                expected_reason=extra.reason,
            )
        )
    if not letter.pictures and not letter.extras and not letter.forwards:
        rows.append(_row(outer, letter, "", "", b"", expected_outcome="no attachment"))
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


def _picture_row(
    picture: Picture,
    letter: Letter,
    container: str,
    outer: Letter,
    content: bytes,
    room: _Darkroom,
) -> dict[str, str]:
    source, exposure = room.originals[picture.copy_of or picture.file_name]
    shot = source.shot
    assert shot is not None
    odonate = shot.subject not in ("exuvia", "figure", "nothing")
    told = picture if picture.expected_date is not None or not picture.copy_of else source
    where = "" if not told.place_from else source.spot
    place = fix(source) if told.place_from == "camera gps" else None
    if place is None and where:
        place = (*WATERS[where][2:4], WATERS[where][4])
    return _row(
        outer,
        letter,
        container,
        picture.file_name,
        content,
        expected_outcome="taken in",
        expected_event_date=_expected_date(told),
        time_from=told.time_from,
        expected_location_id=where,
        expected_latitude=f"{place[0]:.6f}" if place else "",
        expected_longitude=f"{place[1]:.6f}" if place else "",
        place_from=told.place_from if place else "",
        copy_group=f"C-{source.file_name}",
        sighting=source.sighting,
        shows="adult" if odonate else shot.subject,
        is_odonate="true" if odonate else "false",
        scientific_name=shot.subject if odonate else "",
        view=shot.view,
        focus=_focus(picture, source),
        box=";".join(f"{v:.3f}" for v in exposure.box) if odonate and picture.kind != "PNG" else "",
    )


def _expected_date(picture: Picture) -> str:
    if picture.expected_date is not None:
        return picture.expected_date
    if picture.taken is None:
        return ""
    offset = "+02:00" if DEVICES[picture.device].phone else ""
    return picture.taken.isoformat(timespec="seconds") + offset


def _focus(picture: Picture, source: Picture) -> str:
    shot = source.shot
    if shot is None or shot.subject == "nothing":
        return ""
    blur = max(shot.subject_blur, shot.shake[0] / 6)
    return "sharp" if blur < 1 else "soft" if blur < 3.5 else "blurred"


def _row(
    outer: Letter,
    letter: Letter,
    container: str,
    file_name: str,
    content: bytes,
    **values: str,
) -> dict[str, str]:
    given = {
        "message_id": outer.identifier(),
        "container": container,
        "file_name": file_name,
        "sha256": hashlib.sha256(content).hexdigest() if content else "",
        "sender": letter.sender if not letter.automatic else letter.automatic,
        "expected_question": letter.question,
        "note": letter.note,
    }
    return {column: (given | values).get(column, "") for column in TRUTH_COLUMNS}


def _loose_row(name: str, rows: list[dict[str, str]]) -> dict[str, str]:
    """Return the row of a photo that also lies in photos/, without a mail around it."""
    known = next(row for row in rows if row["file_name"] == name)
    note = "also in a mail"
    return known | {"message_id": "", "container": "photos", "sender": "", "note": note}


def _write_truth(path: Path, rows: list[dict[str, str]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as target:
        writer = csv.DictWriter(target, TRUTH_COLUMNS, lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)
