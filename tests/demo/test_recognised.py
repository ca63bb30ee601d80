"""The demo's pictures are good enough to walk with: a network that never saw them agrees.

``pytest -s tests/demo/test_recognised.py`` prints the shares that docs/demo.md gives.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from email import message_from_bytes, policy
from hashlib import sha256
from mailbox import mbox
from pathlib import Path
from zipfile import ZipFile

import numpy as np
import pillow_heif
from PIL import Image, ImageOps

from triage.analysis import networks

COMMITTED = Path(__file__).parents[2] / "demo_photos"


def _files() -> Iterator[bytes]:
    box = mbox(COMMITTED / "inbox.mbox")
    for key in box.keys():  # noqa: SIM118 (a mailbox iterates over its messages, not its keys)
        for part in message_from_bytes(box.get_bytes(key), policy=policy.default).walk():
            if part.get_content_type() == "application/zip":
                with ZipFile(io.BytesIO(part.get_content())) as archive:
                    yield from (archive.read(name) for name in archive.namelist())
            elif part.get_filename():
                yield part.get_content()
    box.close()


def _upright(content: bytes) -> np.ndarray:
    if content[4:8] == b"ftyp":
        opened = pillow_heif.open_heif(io.BytesIO(content)).to_pillow()
    else:
        opened = Image.open(io.BytesIO(content))
    return np.asarray(ImageOps.exif_transpose(opened).convert("RGB"))


def test_most_committed_pictures_of_odonates_are_recognised() -> None:
    """Peak of the class map at 448 px, ImageNet classes dragonfly and damselfly together."""
    with (COMMITTED / "truth.csv").open(encoding="utf-8", newline="") as source:
        shows = {row["sha256"]: row["shows"] for row in csv.DictReader(source) if row["shows"]}
    pictures = {
        digest: content for content in _files() if (digest := sha256(content).hexdigest()) in shows
    }
    assert set(pictures) == set(shows)
    peaks: dict[str, list[float]] = {}
    for digest, content in pictures.items():
        seen = networks.class_look(networks.fitted(_upright(content), 448), threads=1)
        peaks.setdefault(shows[digest], []).append(float(seen.heat.max()))
    for kind, values in peaks.items():
        print(f"{kind}: {sum(v >= 0.5 for v in values)} of {len(values)} at least 0.5")
    assert np.mean([peak >= 0.5 for peak in peaks["adult"]]) > 0.5
    assert max(peaks["nothing"] + peaks["figure"]) < 0.5
