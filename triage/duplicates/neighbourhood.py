"""Which photos of a large collection are worth loading to compare with new ones.

Hashes are asked of everything. Local features are asked only of what may be the same exposure:
files that state different days, or places more than a kilometre apart, are not. So a dated photo's
neighbours are those of its day, but for such as lie elsewhere, and the undated ones of its sender
and place; an undated one's are all of its sender and place.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import NamedTuple

from triage.analysis.hashing import hash_is_empty, pack_text
from triage.duplicates.candidates import HashIndex
from triage.duplicates.narrowing import EVERYWHERE_BITS, PLACE_DEGREES, cell_of
from triage.duplicates.records import Fingerprint

Box = tuple[float, float, float, float]
"""South, west, north and east in degrees."""
DIGITS = 64  # of a photo's digest, and of a hash, in hexadecimal


class KnownHashes(NamedTuple):
    """All hashes known, whole ones and those without borders, and the photos that have them.

    Each one text without anything between its members: a collection of 200,000 photos is read in
    a twentieth of the time that single ones take.
    """

    digests: str
    hashes: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """What to ask a collection for: photos of these senders or boxes, and all of these days.

    ``days_at`` are days with a box each: of those not what is known to lie outside it. ``limit``
    holds for each sender and each box; with ``undated`` only photos of theirs whose files do not
    say when they were taken.
    """

    senders: frozenset[str]
    boxes: frozenset[Box]
    days: frozenset[str]
    days_at: frozenset[tuple[str, Box]]
    limit: int
    undated: bool


def questions(new: Iterable[Fingerprint], *, most: int) -> Iterator[Question]:
    """The neighbours to load, of dated photos and of undated ones; ``most`` bounds each answer."""
    everyone = list(new)
    for dated in (True, False):
        asking = [one for one in everyone if bool(one.captured) is dated]
        senders = frozenset(one.sender for one in asking) - {""}
        boxes = frozenset(box for one in asking for box in _box_around(one))
        yield Question(
            senders=senders,
            boxes=boxes,
            days=frozenset(one.captured[:10] for one in asking if cell_of(one) is None) - {""},
            days_at=frozenset(
                (one.captured[:10], box)
                for one in asking
                if one.captured
                for box in _box_around(one)
            ),
            limit=most // max(len(senders) + len(boxes), 1),
            undated=dated,
        )


def alike(new: Iterable[Fingerprint], known: KnownHashes) -> set[str]:
    """Digests of known photos whose hash is near a new one's, in any orientation."""
    index = HashIndex(pack_text(known.hashes))
    asked = {h for one in new for h in (one.phash, one.content_phash) if h and not hash_is_empty(h)}
    found: set[int] = set()
    for rows, _, _ in index.within(sorted(asked), EVERYWHERE_BITS):
        found.update(rows.tolist())
    return {known.digests[row * DIGITS : (row + 1) * DIGITS] for row in found}


def _box_around(photo: Fingerprint) -> Iterator[Box]:
    """The cell of a photo's place and those next to it."""
    cell = cell_of(photo)
    if cell is not None:
        south, west = ((number - 1) * PLACE_DEGREES for number in cell)
        north, east = ((number + 2) * PLACE_DEGREES for number in cell)
        yield round(south, 6), round(west, 6), round(north, 6), round(east, 6)
