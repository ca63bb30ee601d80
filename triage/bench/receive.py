"""A size in bytes in, how fast and in how much memory an mbox of that size is received out.

The mbox is made up: mails of a text and one photo of three megabytes, written once into a
temporary folder. Reading the file through and hashing it is the measure beside which the speed is
put: a ratio travels between machines, megabytes a second do not.
"""

from __future__ import annotations

import base64
import hashlib
import json
import subprocess
import sys
import tempfile
import time
from dataclasses import asdict, dataclass
from pathlib import Path

import numpy as np

DEFAULT_BYTES = 200_000_000
_STEP = 1 << 20
_PHOTO_BYTES = 3_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class ReceiveBench:
    """One run. Seconds are of processor time; ``ratio`` is receiving over reading and hashing.

    ``peak_bytes`` is the most memory that the receiving process held, its start included
    (``bare_bytes``: imports alone); 0 where the system does not tell.
    """

    file_bytes: int
    messages: int
    photos: int
    read_seconds: float
    receive_seconds: float
    megabytes_per_second: float
    ratio: float
    peak_bytes: int
    bare_bytes: int


def bench(size: int = DEFAULT_BYTES, *, folder: Path | None = None, seed: int = 1) -> ReceiveBench:
    """Write an mbox of about ``size`` bytes, read it through, and receive it in a fresh process."""
    with tempfile.TemporaryDirectory(dir=folder) as place:
        path = Path(place) / "bench.mbox"
        write_mbox(path, size, seed=seed)
        read_seconds = _read_through(path)
        bare = _received(None)
        done = _received(path)
        file_bytes = path.stat().st_size
    return ReceiveBench(
        file_bytes=file_bytes,
        messages=int(done["messages"]),
        photos=int(done["photos"]),
        read_seconds=round(read_seconds, 3),
        receive_seconds=round(done["seconds"], 3),
        megabytes_per_second=round(file_bytes / 1e6 / max(done["seconds"], 1e-9), 1),
        ratio=round(done["seconds"] / max(read_seconds, 1e-9), 2),
        peak_bytes=int(done["peak_bytes"]),
        bare_bytes=int(bare["peak_bytes"]),
    )


def write_mbox(path: Path, size: int, *, seed: int = 1) -> int:
    """Write an mbox of about ``size`` bytes; return how many mails it holds."""
    random = np.random.default_rng(seed)
    # Only the bytes matter here, not the picture: a JPEG's frame around noise.
    body = random.integers(0, 255, _PHOTO_BYTES, dtype=np.uint8).tobytes()
    written = number = 0
    with path.open("wb") as out:
        while written < size:
            photo = b"\xff\xd8\xff\xe0" + number.to_bytes(8, "big") + body[12:] + b"\xff\xd9"
            written += out.write(_mail(number, photo))
            number += 1
    return number


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


def _read_through(path: Path) -> float:
    begin = time.process_time()
    digest = hashlib.sha256()
    with path.open("rb") as stream:
        while step := stream.read(_STEP):
            digest.update(step)
    return time.process_time() - begin


def _received(path: Path | None) -> dict[str, float]:
    """Run :func:`receive` in a process of its own, so that its memory is its own."""
    code = "import sys; from triage.bench.receive import report; report(sys.argv[1])"
    command = [sys.executable, "-c", code, str(path or "")]
    done = subprocess.run(command, check=True, capture_output=True, text=True)
    return {name: float(value) for name, value in json.loads(done.stdout).items()}


@dataclass(frozen=True, slots=True, kw_only=True)
class Received:
    """What one receiving process saw of itself."""

    messages: int
    photos: int
    seconds: float
    peak_bytes: int


def receive(path: Path | None) -> Received:
    """Read every message of a source; without one, only load what that needs."""
    from triage.mail.message import read_message
    from triage.mail.sources import iter_source

    begin = time.process_time()
    messages = photos = 0
    for delivery in iter_source(path) if path else ():
        message = read_message(delivery.raw)
        messages += 1
        photos += sum(part.outcome == "taken in" for part in message.parts)
    seconds = time.process_time() - begin
    return Received(messages=messages, photos=photos, seconds=seconds, peak_bytes=_peak_bytes())


def report(path: str) -> None:
    """Write what :func:`receive` saw to standard output as JSON, for the process that asked."""
    sys.stdout.write(json.dumps(asdict(receive(Path(path) if path else None))))


def _peak_bytes() -> int:
    try:
        import resource
    except ImportError:  # Windows has no such module
        return 0
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak if sys.platform == "darwin" else peak * 1024
