"""Which photos of a large collection are worth loading to compare with new ones.

Hashes are asked of everything. Local features are asked only of what may be the same exposure:
files that state different days, or places more than a kilometre apart, are not. So a dated photo's
neighbours are those of its day, but for such as lie elsewhere, and the undated ones of its sender
and place; an undated one's are all of its sender and place.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from triage.analysis.hashing import hash_is_empty
from triage.duplicates.candidates import HashIndex
from triage.duplicates.narrowing import EVERYWHERE_BITS, PLACE_DEGREES, cell_of
from triage.duplicates.records import Fingerprint

Box = tuple[float, float, float, float]
"""South, west, north and east in degrees."""


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


def days_around(new: Iterable[Fingerprint]) -> set[str]:
    """The days on which the photos were taken, and those next to them: a burst may pass midnight.

    A date that no calendar has is left out.
    """
    found = set()
    for text in {one.captured[:10] for one in new}:
        try:
            day = date.fromisoformat(text)
            found |= {(day + timedelta(days=step)).isoformat() for step in (-1, 0, 1)}
        except (ValueError, OverflowError):
            continue
    return found


def alike(new: Iterable[Fingerprint], known: Iterable[tuple[str, str, str]]) -> set[str]:
    """Digests of known photos whose hash is near a new one's, in any orientation.

    ``known`` are digest, hash and hash without borders of each, the latter empty for none.
    """
    owners: list[str] = []
    hashes: list[str] = []
    for photo, phash, content_phash in known:
        for one in {phash, content_phash} - {""}:
            owners.append(photo)
            hashes.append(one)
    index = HashIndex(hashes)
    asked = {h for one in new for h in (one.phash, one.content_phash) if h}
    found: set[str] = set()
    for phash in asked:
        if not hash_is_empty(phash):
            rows, _, _ = index.within(phash, EVERYWHERE_BITS)
            found.update(owners[row] for row in rows.tolist())
    return found


def _box_around(photo: Fingerprint) -> Iterator[Box]:
    """The cell of a photo's place and those next to it."""
    cell = cell_of(photo)
    if cell is not None:
        south, west = ((number - 1) * PLACE_DEGREES for number in cell)
        north, east = ((number + 2) * PLACE_DEGREES for number in cell)
        yield round(south, 6), round(west, 6), round(north, 6), round(east, 6)
