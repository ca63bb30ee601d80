"""How fast and in how much memory an mbox is received.

The mbox is made up: mails of a text and one photo of three megabytes, written once into a
temporary folder. Reading the file through and hashing it is the measure beside which the speed is
put.
"""

from __future__ import annotations

import base64
import hashlib
import json
import sys
import tempfile
from pathlib import Path

import numpy as np

from triage.bench.running import in_own_process, peak_bytes, seconds_of

_PHOTO_BYTES = 3_000_000


def bench(size: int) -> list[str]:
    """Write an mbox of about ``size`` bytes, read it through, and receive it in a fresh process."""
    with tempfile.TemporaryDirectory() as place:
        path = Path(place) / "bench.mbox"
        write_mbox(path, size)
        size = path.stat().st_size
        least = seconds_of(lambda: _read_through(path))
        bare = in_own_process("triage.bench.receive")
        done = in_own_process("triage.bench.receive", path)
    seconds = max(done["seconds"], 1e-9)
    return [
        f"{size / 1e6:.0f} MB, {done['messages']} messages, {done['photos']} photos:"
        f" {size / 1e6 / seconds:.0f} MB/s, {seconds / max(least, 1e-9):.1f} times reading and"
        " hashing",
        f"peak memory {done['peak_bytes'] / 1e6:.0f} MB"
        f" (imports alone {bare['peak_bytes'] / 1e6:.0f})",
    ]


def write_mbox(path: Path, size: int) -> None:
    """Write an mbox of about ``size`` bytes."""
    random = np.random.default_rng(1)
    # Only the bytes matter here, not the picture: a JPEG's frame around noise.
    body = random.integers(0, 255, _PHOTO_BYTES, dtype=np.uint8).tobytes()
    written = number = 0
    with path.open("wb") as out:
        while written < size:
            photo = b"\xff\xd8\xff\xe0" + number.to_bytes(8, "big") + body[12:] + b"\xff\xd9"
            written += out.write(_mail(number, photo))
            number += 1


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


def _read_through(path: Path) -> None:
    with path.open("rb") as stream:
        hashlib.file_digest(stream, "sha256")


def receive(sources: list[str]) -> dict[str, float]:
    """Read every message of the sources; without one, only load what that needs."""
    from triage.mail.message import read_message
    from triage.mail.sources import iter_source

    counts = {"messages": 0, "photos": 0}

    def read() -> None:
        for delivery in (one for source in sources for one in iter_source(Path(source))):
            message = read_message(delivery.raw)
            counts["messages"] += 1
            counts["photos"] += sum(part.outcome == "taken in" for part in message.parts)

    seconds = seconds_of(read)
    return {**counts, "seconds": seconds, "peak_bytes": peak_bytes()}


if __name__ == "__main__":
    sys.stdout.write(json.dumps(receive(sys.argv[1:])))
