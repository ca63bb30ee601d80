"""Which photos of a large collection are worth loading to compare with new ones.

Hashes are asked of everything. Local features are asked only of what may be the same exposure:
files that state different days, or places more than a kilometre apart beyond their radii, are not,
unless a place is doubted. So a dated photo's neighbours are those of its day, but for such as lie
elsewhere, and the undated ones of its sender and place; an undated one's are all of its sender and
place.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import NamedTuple

from triage.analysis.geodesy import metres_per_degree
from triage.analysis.hashing import hash_is_empty, pack_text
from triage.duplicates.bursts import BURST_SECONDS
from triage.duplicates.candidates import HashIndex
from triage.duplicates.narrowing import EVERYWHERE_BITS, PLACE_DEGREES, SCENE_BITS, cell_of
from triage.duplicates.records import Fingerprint

Box = tuple[float, float, float, float]
"""South, west, north and east in degrees."""
PLACE_METRES = (
    1000.0  # further apart, beyond their radii, are two places; common practice, no source
)
VAGUE_METRES = 100.0  # a known photo with a larger radius is asked whatever place it states
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
        boxes = frozenset(box for one in asking for box in _boxes_around(one))
        yield Question(
            senders=senders,
            boxes=boxes,
            days=frozenset(day for one in asking if cell_of(one) is None for day in _days(one)),
            days_at=frozenset(
                (day, box) for one in asking for day in _days(one) for box in _boxes_around(one)
            ),
            limit=most // max(len(senders) + len(boxes), 1),
            undated=dated,
        )


def _days(photo: Fingerprint) -> set[str]:
    """The day on which a photo was taken, and the next one where a burst may pass midnight."""
    try:
        when = datetime.fromisoformat(photo.captured)
        reach = timedelta(seconds=BURST_SECONDS + 1)
        return {moment.date().isoformat() for moment in (when - reach, when, when + reach)}
    except (ValueError, OverflowError):  # no calendar has it
        return {photo.captured[:10]} - {""}


def alike(
    new: Iterable[Fingerprint], known: KnownHashes, *, nearby: Collection[str] = frozenset()
) -> set[str]:
    """Digests of known photos whose hash is near a new one's, in any orientation.

    Of those ``nearby`` (the new ones' senders', say) it may be as far off as the same scene's.
    """
    index = HashIndex(pack_text(known.hashes))
    asked = {h for one in new for h in (one.phash, one.content_phash) if h and not hash_is_empty(h)}
    found: set[str] = set()
    for rows, distance, _ in index.within(sorted(asked), SCENE_BITS):
        for row, bits in zip(rows.tolist(), distance.tolist(), strict=True):
            digest = known.digests[row * DIGITS : (row + 1) * DIGITS]
            if bits <= EVERYWHERE_BITS or digest in nearby:
                found.add(digest)
    return found


def _boxes_around(photo: Fingerprint) -> Iterator[Box]:
    """What lies nearer than `PLACE_METRES` to a photo's cell, both places being uncertain.

    Two boxes where it reaches over the 180th meridian. Radii are taken in hundreds of metres, so
    that photos of one place mostly share a box.
    """
    cell = cell_of(photo)
    if cell is None:
        return
    hundreds = math.ceil(photo.coordinate_uncertainty_in_meters / VAGUE_METRES)
    reach = PLACE_METRES + VAGUE_METRES * (1 + hundreds)
    south, west = (number * PLACE_DEGREES for number in cell)
    furthest = min(max(abs(south), abs(south + PLACE_DEGREES)), 89.9)
    along, across = (reach / metres for metres in metres_per_degree(furthest))
    low, high = round(south - along, 6), round(south + PLACE_DEGREES + along, 6)
    left, right = round(west - across, 6), round(west + PLACE_DEGREES + across, 6)
    yield low, left, high, right
    if left < -180:
        yield low, round(left + 360, 6), high, 180.0
    if right > 180:
        yield low, -180.0, high, round(right - 360, 6)
