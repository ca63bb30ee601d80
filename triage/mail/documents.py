"""Find the photos inside a document (PDF, Office, OpenDocument).

Such photos are counted on receipt and only taken out when the coordinator asks for it: a document
recompresses, crops and strips what it is given, so the sender's originals are worth asking for.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator

from triage.analysis.media_types import is_picture, sniff_media_type
from triage.mail.archives import ATTACHED_DIRECTORY_BYTES, Unpacked, ZipReader
from triage.mail.file_names import safe_file_name
from triage.mail.limits import Limits
from triage.mail.pictures import judge_picture

DOCUMENT_TYPES = frozenset(
    {
        "application/pdf",
        "application/vnd.openxmlformats-officedocument",
        "application/vnd.oasis.opendocument",
    }
)

_PHOTOS_COUNTED = 200
_MEDIA_FOLDER = re.compile(r"(?i)(?:^|/)(?:media|pictures)/[^/]+$")
# A JPEG in a PDF is the stream itself (ISO 32000-1 7.4.8, DCTDecode as the only filter).
_JPEG_STREAM = re.compile(rb"stream\r?\n(?=\xff\xd8\xff)")


def photos_in_document(content: bytes, media_type: str, *, limits: Limits) -> list[Unpacked]:
    """Take the photos out of a document, those too small to show an insect left out.

    Returns an empty list for other types and for documents that cannot be read.
    """
    photos: list[Unpacked] = []
    if media_type == "application/pdf":
        found = _jpegs_in_pdf(content)
    elif media_type in DOCUMENT_TYPES:
        found = _pictures_in_zip(content, limits)
    else:
        return photos
    for picture in found:
        kind = sniff_media_type(picture.content, file_name=picture.name)
        outcome = is_picture(kind) and judge_picture(
            picture.content, media_type=kind, file_name="", inline=True
        )
        if outcome and outcome[0] == "taken in":
            photos.append(picture)
        if len(photos) >= _PHOTOS_COUNTED:
            break
    return photos


def _jpegs_in_pdf(content: bytes) -> Iterator[Unpacked]:
    number = position = 0
    while match := _JPEG_STREAM.search(content, position):
        stop = content.find(b"endstream", match.end())
        if stop < 0:
            return
        number, position = number + 1, stop
        data = content[match.end() : stop]
        end = data.rfind(b"\xff\xd9")  # the line end before endstream is not the picture's
        yield Unpacked(name=f"picture-{number}.jpg", content=data[: end + 2] if end >= 0 else data)


def _pictures_in_zip(content: bytes, limits: Limits) -> Iterator[Unpacked]:
    try:
        reader = ZipReader(
            io.BytesIO(content), limits=limits, directory_bytes=ATTACHED_DIRECTORY_BYTES
        )
        entries = reader.entries()
    except Exception:  # a damaged document holds nothing that could be offered
        return
    budget = limits.expanded_bytes
    for entry in entries[: limits.parts]:
        if not _MEDIA_FOLDER.search(entry.filename) or entry.file_size > budget:
            continue
        budget -= entry.file_size
        unpacked = reader.read(entry)
        if unpacked.content:
            yield Unpacked(name=safe_file_name(entry.filename), content=unpacked.content)
