"""The demo's pictures are good enough to walk with: a network that never saw them agrees."""

from __future__ import annotations

import csv
import io
from email import message_from_bytes, policy
from hashlib import sha256
from mailbox import mbox
from pathlib import Path

import numpy as np
from PIL import Image

from triage.analysis.subject import look_at

COMMITTED = Path(__file__).parents[2] / "demo_photos"
HALF_OF_THE_MAP = 0.5


def test_most_committed_pictures_of_odonates_are_recognised() -> None:
    """Every fourth JPEG, to keep the test short; docs/demo.md counts them all."""
    with (COMMITTED / "truth.csv").open(encoding="utf-8", newline="") as source:
        shows = {
            row["sha256"]: row["is_odonate"] == "true"
            for row in csv.DictReader(source)
            if row["shows"]
        }
    box = mbox(COMMITTED / "inbox.mbox")
    peaks = []
    for key in box.keys():  # noqa: SIM118 (a mailbox iterates over its messages, not its keys)
        for part in message_from_bytes(box.get_bytes(key), policy=policy.default).walk():
            if part.get_content_type() != "image/jpeg":
                continue
            content = part.get_content()
            if shows.get(sha256(content).hexdigest()):
                peaks.append(content)
    box.close()
    looked = [look_at(_upright(content)) for content in peaks[::4]]
    assert len(looked) >= 8
    share = np.mean([subject.odonate >= HALF_OF_THE_MAP for subject in looked])
    assert share > 0.5


def _upright(content: bytes) -> np.ndarray:
    from PIL import ImageOps

    with Image.open(io.BytesIO(content)) as opened:
        return np.asarray(ImageOps.exif_transpose(opened).convert("RGB"))
