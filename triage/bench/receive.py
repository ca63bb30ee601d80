"""How fast and in how much memory an mbox is received, beside Python's own reader of mailboxes.

The mbox is made up: mails of a text and one photo of three megabytes, written once into a
temporary folder. It is iterated over by Python's ``mailbox`` (each message parsed, no part decoded)
and received into a new survey: parts decoded, hashed, judged, kept and noted.
"""

from __future__ import annotations

import base64
import contextlib
import json
import mailbox
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from triage.bench.running import in_own_process, peak_bytes

_PHOTO_BYTES = 3_000_000
_NOW = datetime(2026, 11, 1, tzinfo=UTC)
GOAL = 1.5  # times as fast as the bare iteration


def bench(size: int) -> list[str]:
    """Write an mbox of about ``size`` bytes; iterate over it and receive it, each in a process."""
    with tempfile.TemporaryDirectory() as place:
        path = Path(place) / "bench.mbox"
        write_mbox(path, size)
        size = path.stat().st_size
        empty = in_own_process("triage.bench.receive")
        bare, read, done = (
            in_own_process("triage.bench.receive", how, path, Path(place) / "survey")
            for how in ("iterate", "read", "receive")
        )
    return [
        f"{size / 1e6:,.0f} MB, {done['messages']} messages, {done['photos']} photos; processor"
        " seconds (on the clock):",
        *(
            f"{words} {one['seconds']:.2f} ({one['clock']:.2f}), {_times(bare, one)} times as fast"
            for words, one in (("read and opened", read), ("received and kept", done))
        ),
        f"iterated by Python's mailbox {bare['seconds']:.2f} ({bare['clock']:.2f}); goal for"
        f" receiving: {GOAL} times as fast",
        f"peak memory {done['peak_bytes'] / 1e6:.0f} MB"
        f" (imports alone {empty['peak_bytes'] / 1e6:.0f})",
    ]


def _times(bare: dict[str, float], one: dict[str, float]) -> str:
    return f"{bare['seconds'] / max(one['seconds'], 1e-9):.2f}"


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
    from triage.analysis.images import as_jpeg

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


def iterate(path: Path) -> dict[str, int]:
    """Iterate over the mbox by the standard library, which parses each message."""
    with contextlib.closing(mailbox.mbox(path, create=False)) as box:
        return {"messages": sum(1 for _ in box)}


def read(path: Path) -> dict[str, int]:
    """Read every message and open its parts; nothing is kept."""
    from triage.mail.message import read_message
    from triage.mail.sources import iter_source

    counts = {"messages": 0, "photos": 0}
    for delivery in iter_source(path):
        message = read_message(delivery.raw)
        counts["messages"] += 1
        counts["photos"] += sum(part.outcome == "taken in" for part in message.parts)
    return counts


def receive(path: Path, folder: Path) -> dict[str, int]:
    """Receive the mbox into a new survey."""
    from triage.pipeline.receive import take_in
    from triage.store.connection import create_survey, open_survey

    create_survey(folder)
    with open_survey(folder) as survey:
        done = take_in(survey, [path], now=_NOW)
    return {"messages": done.received, "photos": done.photos}


def _timed(work: Callable[[], dict[str, int]]) -> dict[str, float]:
    spent, clock = time.process_time(), time.perf_counter()
    counts = work()
    return {
        **counts,
        "seconds": time.process_time() - spent,
        "clock": time.perf_counter() - clock,
        "peak_bytes": peak_bytes(),
    }


def _main(how: str = "", path: str = "", folder: str = "") -> dict[str, float]:
    """One of the three ways in this process; without one, only load what receiving needs."""
    import triage.mail.message
    import triage.mail.sources
    import triage.pipeline.receive  # noqa: F401

    ways: dict[str, Callable[[], dict[str, int]]] = {
        "": dict,
        "iterate": lambda: iterate(Path(path)),
        "read": lambda: read(Path(path)),
        "receive": lambda: receive(Path(path), Path(folder)),
    }
    return _timed(ways[how])


if __name__ == "__main__":
    sys.stdout.write(json.dumps(_main(*sys.argv[1:])))
