"""How fast and in how much memory an mbox is received, beside Python's own reader of mailboxes.

The mbox is made up: mails of a text and one photo of three megabytes, written once into a
temporary folder. It is iterated over by Python's ``mailbox`` (each message parsed, no part decoded)
and received into a new survey: parts decoded, hashed, judged, kept and noted.
"""

from __future__ import annotations

import base64
import contextlib
import mailbox
import tempfile
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from triage.analysis.images import as_jpeg
from triage.bench.running import Spent, in_own_process
from triage.mail.message import read_message
from triage.mail.sources import iter_source
from triage.pipeline.receive import take_in
from triage.store.connection import create_survey, open_survey

_PHOTO_BYTES = 3_000_000
_NOW = datetime(2026, 11, 1, tzinfo=UTC)
GOAL = 1.5  # times as fast as the bare iteration


def bench(size: int) -> list[str]:
    """Write an mbox of about ``size`` bytes; iterate over it and receive it, each in a process."""
    with tempfile.TemporaryDirectory() as place:
        path = Path(place) / "bench.mbox"
        write_mbox(path, size)
        size = path.stat().st_size
        empty, bare = in_own_process(nothing), in_own_process(iterate, path)
        opened = in_own_process(read, path)
        done = in_own_process(receive, path, Path(place) / "survey")

    def words(what: str, one: Spent) -> str:
        faster = bare.seconds / max(one.seconds, 1e-9)
        return f"{what} {one.seconds:.2f} ({one.clock:.2f}), {faster:.2f} times as fast"

    return [
        f"{size / 1e6:,.0f} MB, {done.result['messages']} messages, {done.result['photos']} photos;"
        " processor seconds (on the clock):",
        words("read and opened", opened),
        words("received and kept", done),
        f"iterated by Python's mailbox {bare.seconds:.2f} ({bare.clock:.2f}); goal for"
        f" receiving: {GOAL} times as fast",
        f"peak memory {done.peak_bytes / 1e6:.0f} MB (imports alone {empty.peak_bytes / 1e6:.0f})",
    ]


def write_mbox(path: Path, size: int) -> None:
    """Write an mbox of about ``size`` bytes."""
    frame, body = _photo_around()
    written = number = 0
    with path.open("wb") as out:
        while written < size:
            photo = frame + number.to_bytes(4, "little").replace(b"\xff", b"\xfe") + body
            written += out.write(_mail(number, photo))
            number += 1


def _photo_around() -> tuple[bytes, bytes]:
    """A 12-megapixel JPEG up to its scan, and noise for the scan: no pixel is decoded here."""
    flat = as_jpeg(np.zeros((3000, 4000, 3), dtype=np.uint8))
    scan = flat.index(b"\xff\xda")
    start = scan + 2 + int.from_bytes(flat[scan + 2 : scan + 4], "big")
    noise = np.random.default_rng(1).integers(0, 255, _PHOTO_BYTES, dtype=np.uint8).tobytes()
    return flat[:start], noise + b"\xff\xd9"


def _mail(number: int, photo: bytes) -> bytes:
    lines = base64.encodebytes(photo)
    head = (
        f"From ada@example.org Sun Jun 14 18:05:00 2026\n"
        f"Message-ID: <{number}@example.org>\nDate: Sun, 14 Jun 2026 18:05:00 +0200\n"
        f"From: Ada Finch <ada@example.org>\nSubject: Photo {number}\nMIME-Version: 1.0\n"
        'Content-Type: multipart/mixed; boundary="frontier"\n\n'
        "--frontier\nContent-Type: text/plain; charset=utf-8\n\nSeen at Alder Pool.\n"
        f'--frontier\nContent-Type: image/jpeg; name="IMG_{number}.jpg"\n'
        "Content-Transfer-Encoding: base64\n\n"
    )
    return head.encode() + lines + b"--frontier--\n\n"


def nothing() -> None:
    """Only what receiving needs is loaded."""


def iterate(path: str) -> dict[str, int]:
    """Iterate over the mbox by the standard library, which parses each message."""
    with contextlib.closing(mailbox.mbox(path, create=False)) as box:
        return {"messages": sum(1 for _ in box)}


def read(path: str) -> dict[str, int]:
    """Read every message and open its parts; nothing is kept."""
    counts = {"messages": 0, "photos": 0}
    for delivery in iter_source(Path(path)):
        counts["messages"] += 1
        parts = read_message(delivery.raw).parts
        counts["photos"] += sum(part.outcome == "taken in" for part in parts)
    return counts


def receive(path: str, folder: str) -> dict[str, int]:
    """Receive the mbox into a new survey."""
    create_survey(Path(folder))
    with open_survey(Path(folder)) as survey:
        done = take_in(survey, [Path(path)], now=_NOW)
    return {"messages": done.received, "photos": done.photos}
