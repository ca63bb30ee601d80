"""Writes truth.csv: what should become of every part of every mail.

Parts are numbered as IMAP numbers them (RFC 3501, section 6.4.5); files in a zip archive follow
after the archive's name.
"""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Iterable, Iterator
from email.message import EmailMessage, Message
from pathlib import Path

from triage.demo.camera_files import fix
from triage.demo.data_files import read_toml
from triage.demo.scenario import DEVICES, WATERS, Extra, Letter, Picture
from triage.demo.shots import Exposure
from triage.standards.digests import digest_of

Row = dict[str, str]
Rows = dict[tuple[str, str], Row]  # by the letter's key and the file's name

TRUTH_COLUMNS: tuple[str, ...] = read_toml("truth.toml")["columns"]
_NOT_FILES = {
    "text/plain": "the text of the mail",
    "text/html": "the text of the mail",
    "message/rfc822": "a forwarded mail, opened",
    "message/delivery-status": "a delivery report",
    "application/zip": "a zip archive, opened",
}


def picture_row(picture: Picture, source: Picture, exposure: Exposure, content: bytes) -> Row:
    """Return what should become of one picture, and what it shows.

    ``source`` is the picture whose exposure it is: itself, unless it is a copy.
    """
    shot = source.shot
    if shot is None:
        raise ValueError(f"{source.file_name}: a copy of a copy")
    odonate = shot.subject not in ("exuvia", "figure", "nothing")
    told = picture if picture.expected_date is not None or not picture.copy_of else source
    where = source.spot if told.place_from else ""
    place = fix(source) if told.place_from == "camera gps" else None
    if place is None and where:
        water = WATERS[where]
        place = (water.latitude, water.longitude, water.radius)
    boxed = odonate and picture.kind != "PNG"
    return {
        "sha256": digest_of(content),
        "expected_outcome": "taken in",
        "expected_event_date": _expected_date(told),
        "time_from": told.time_from,
        "expected_location_id": where,
        "expected_latitude": f"{place[0]:.6f}" if place else "",
        "expected_longitude": f"{place[1]:.6f}" if place else "",
        "place_from": told.place_from if place else "",
        "copy_group": f"C-{source.file_name}",
        "sighting": source.sighting,
        "shows": "adult" if odonate else shot.subject,
        "is_odonate": "true" if odonate else "false",
        "scientific_name": shot.subject if odonate else "",
        "view": shot.view,
        "focus": _focus(source),
        "box": ";".join(f"{v:.3f}" for v in exposure.box) if boxed else "",
    }


def _expected_date(picture: Picture) -> str:
    if picture.expected_date is not None:
        return picture.expected_date
    if picture.taken is None:
        return ""
    offset = "+02:00" if DEVICES[picture.device].phone else ""
    return picture.taken.isoformat(timespec="seconds") + offset


def _focus(source: Picture) -> str:
    shot = source.shot
    if shot is None or shot.subject == "nothing":
        return ""
    blur = max(shot.subject_blur, shot.shake[0] / 6)
    return "sharp" if blur < 1 else "soft" if blur < 3.5 else "blurred"


def extra_row(extra: Extra, content: bytes) -> Row:
    """Return what should become of an attachment that is no photo of an insect."""
    return {
        "sha256": digest_of(content),
        "expected_outcome": extra.outcome,
        "expected_reason": extra.reason,
    }


def rows_of_mails(mails: Iterable[tuple[Letter, EmailMessage]], rows: Rows) -> list[Row]:
    """Return one row for each part of each mail, in the order of the parts."""
    every = []
    for letter, mail in mails:
        forwarded = iter(letter.forwards)
        author, container = letter, ""
        asked: set[str] = set()
        for part, entity, file_name in _parts(mail, ""):
            if entity.get_content_type() == "message/rfc822":
                author, container = next(forwarded), "message/rfc822"
            known = rows.get((author.key, file_name))
            row = known or {
                "expected_outcome": "nothing to keep",
                "expected_reason": _NOT_FILES[entity.get_content_type()],
            }
            # Asked once a mail, at its picture where it has one.
            asks = known is not None or not (author.pictures or author.key in asked)
            asked.add(author.key)
            every.append(
                _whole(
                    row,
                    message_id=letter.identifier(),
                    part=part,
                    container=letter.zipped if "/" in part else container,
                    file_name=file_name,
                    sender=author.automatic or author.sender,
                    expected_question=author.question if asks else "",
                    note=author.note,
                )
            )
    return every


def _parts(entity: Message, number: str) -> Iterator[tuple[str, Message, str]]:
    """Yield number, part and file name of every part that is not itself a multipart."""
    if entity.get_content_maintype() == "multipart":
        for index, child in enumerate(entity.iter_parts(), start=1):  # type: ignore[attr-defined]
            inner = f"{number}.{index}" if number else str(index)
            yield from _parts(child, inner)
        return
    number = number or "1"
    name = entity.get_filename() or ""
    yield number, entity, name
    if entity.get_content_type() == "message/rfc822":
        inside = entity.get_payload(0)
        single = inside.get_content_maintype() != "multipart"  # type: ignore[union-attr]
        yield from _parts(inside, f"{number}.1" if single else number)  # type: ignore[arg-type]
    elif name.endswith(".zip"):
        with zipfile.ZipFile(io.BytesIO(entity.get_payload(decode=True))) as archive:  # type: ignore[arg-type]
            for member in archive.namelist():
                yield f"{number}/{name}/{member}", entity, member


def rows_of_loose_files(names: Iterable[str], rows: Rows) -> list[Row]:
    """Return the rows of photos that also lie in photos/, without a mail around them."""
    by_name = {file_name: row for (_, file_name), row in rows.items()}
    return [
        _whole(by_name[name], container="photos", file_name=name, note="also in a mail")
        for name in names
    ]


def _whole(row: Row, **values: str) -> Row:
    return {column: (row | values).get(column, "") for column in TRUTH_COLUMNS}


def write_truth(path: Path, rows: Iterable[Row]) -> None:
    """Write truth.csv.

    Raises
    ------
    OSError
        If the file cannot be written.
    """
    with path.open("w", encoding="utf-8", newline="") as target:
        writer = csv.DictWriter(target, TRUTH_COLUMNS, lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)
