"""Decide whether an answer from a packet still answers what is asked, or is to be shown instead."""

from __future__ import annotations

import codecs
import re
from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path

SETTLED = ("determined", "undeterminable", "set aside")


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A sighting as it went into a packet, and to whom; ``action`` is the packet's number."""

    packet: str
    number: int
    person: int
    sighting: str
    photos: frozenset[str]
    action: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Now:
    """The same sighting as it stands when its answer comes.

    ``others`` says whether a determination was made since that is not of this packet, ``name``
    what the sighting stands as. Without photos there is no such sighting any longer.
    """

    photos: Collection[str]
    state: str
    name: str
    others: bool


def conflict(asked: Asked, now: Now) -> str:
    """Why the answer is not recorded by itself, or nothing.

    More photos of the same animal are no conflict: what was said was said of those in the packet.

    Examples
    --------
    >>> asked = Asked(packet="7f3a2c10", number=7, person=1, sighting="3f29a1b2", action=4,
    ...     photos=frozenset({"a"}))
    >>> conflict(asked, Now(photos=["a", "b"], state="queued", name="", others=False))
    ''
    >>> conflict(asked, Now(photos=["a"], state="determined", name="Aeshna mixta", others=True))
    'somebody named it meanwhile: it stands as Aeshna mixta'
    """
    if not now.photos:
        return "its photos were grouped anew meanwhile, and the sighting is gone"
    if not asked.photos <= set(now.photos):
        return "photos were taken out of the sighting meanwhile"
    if now.state == "set aside":
        return "the sighting was set aside meanwhile"
    if now.others and now.state in SETTLED:
        return f"somebody named it meanwhile: it stands as {now.name or now.state}"
    return ""


HEAD_BYTES = 4096  # of a file: enough for the header of a table of answers and titles above it
HEAD_LINES = 20


def is_table_of_answers(path: Path) -> bool:
    """Whether a file looks like the table that a packet's page saves, or a spreadsheet of it."""
    if path.suffix.lower() not in (".csv", ".tsv", ".txt") or not path.is_file():
        return False
    with path.open("rb") as file:
        head = file.read(HEAD_BYTES)
    wide = head.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE))
    lines = head.decode("utf-16" if wide else "utf-8", errors="ignore").splitlines()[:HEAD_LINES]
    return any(
        cells[0] == "sighting" and "scientificName" in cells
        for line in lines
        if (cells := [cell.strip("\ufeff\"' ") for cell in re.split(r"[,;\t]", line)])
    )
