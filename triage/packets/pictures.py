"""Make the picture of a photo as it goes into a packet, and the packet itself."""

from __future__ import annotations

import zipfile
from pathlib import Path

from triage.packets.contents import Packet, Picture
from triage.packets.fitting import jpeg_within, shown_part, within_part
from triage.quality import Measurement, length_px

HOW_TO = (
    "Take the page out of this .zip and open it with your browser: it needs no network.\r\n"
    "Type four letters of a name, its digit, Enter. When you are done, or tired, press + to\r\n"
    "save your answers as a table, and send that table back.\r\n"
)


def picture_of(
    content: bytes, name: str, view: str, measured: Measurement | None, *, most_bytes: int
) -> Picture:
    """The part of a photo around its insect, within a number of bytes.

    Raises
    ------
    SourceError
        If the photo cannot be read.
    """
    from triage.analysis.images import decode

    rgb = decode(content, name=name[:12]).rgb
    height, width = rgb.shape[:2]
    part = shown_part(measured.box if measured else None, width, height)
    x0, y0, x1, y1 = part
    jpeg, wide, high = jpeg_within(rgb[y0:y1, x0:x1], most_bytes)
    box = within_part(measured.box, part, width, height) if measured else None
    body = measured.body_box or measured.box if measured else None
    inside = within_part(body, part, width, height) if body else None
    return Picture(
        jpeg=jpeg,
        width=wide,
        height=high,
        view=view,
        box=box,
        focus=measured.focus if measured else 0.0,
        insect_px=length_px(inside, width=wide, height=high) if inside else 0.0,
    )


def write_packet(path: Path, content: Packet, page: str) -> None:
    """Write a packet as one zip: its page, and how to use it."""
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(f"{content.file_name}.html", page)
        archive.writestr("how to use it.txt", HOW_TO)
