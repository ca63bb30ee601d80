"""Choose the pairs whose pixels are worth a look: by hash, and by neighbourhood.

Hashes are asked of every photo known. Local features are asked of those that share sender, day or
place with a new one, or of all where there are few.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from itertools import chain
from typing import TYPE_CHECKING

import numpy as np

from triage.analysis import hashing
from triage.duplicates.candidates import (
    SKETCH_TABLES,
    SKETCH_VOTES,
    HashIndex,
    most_voted,
    sketch_of,
    votes,
)
from triage.duplicates.look import Look
from triage.duplicates.records import Fingerprint

if TYPE_CHECKING:
    from numpy.typing import NDArray

# Chosen in docs/figures/duplicates.md, reproduced by `triage bench copies`.
SCENE_BITS = 84  # of 256: the same scene, asked within the neighbourhood
EVERYWHERE_BITS = 64  # of 256: asked of every photo known; strangers of 200,000 stay above
NEIGHBOURS = 40_000  # most photos whose local features are compared in one call
BATCH = 1_000  # new photos, those of one sender together, with one neighbourhood
ALL_ARE_NEIGHBOURS = 5_000  # a collection this small needs no narrowing
PLACE_DEGREES = 0.01  # about a kilometre: the neighbourhood of a place
MIRRORED_FROM = 4  # of the eight orientations; see hashing.ORIENTATION_NAMES


def distinct(
    new: Sequence[Fingerprint], known: Sequence[Fingerprint]
) -> tuple[list[Fingerprint], list[Fingerprint]]:
    """Both in the order of their digests, each digest once, new before known."""
    fresh = {each.sha256: each for each in new}
    old = {each.sha256: each for each in known if each.sha256 not in fresh}
    return [fresh[name] for name in sorted(fresh)], [old[name] for name in sorted(old)]


def candidate_rows(
    fresh: Sequence[Fingerprint], old: Sequence[Fingerprint], look: Look
) -> dict[tuple[int, int], set[bool]]:
    """Pairs of rows, fresh ones numbered first, with the ways to try: as it is, mirrored."""
    everything = [*fresh, *old]
    hashes = _Hashes(everything, len(fresh), look)
    by_sender = sorted(range(len(fresh)), key=lambda row: (fresh[row].sender, fresh[row].captured))
    pairs = defaultdict[tuple[int, int], set[bool]](set)
    for start in range(0, len(by_sender), BATCH):
        batch = by_sender[start : start + BATCH]
        near = _neighbours([fresh[row] for row in batch], everything)
        for first, second, mirrored in chain(
            hashes.pairs(batch, near), _pairs_by_features(batch, everything, near, look)
        ):
            pairs[min(first, second), max(first, second)].add(mirrored)
    return pairs


def _neighbours(
    batch: Sequence[Fingerprint], everything: Sequence[Fingerprint]
) -> NDArray[np.intp]:
    """Rows of photos that share sender, day or place with one of a batch; all of a few.

    Where there are too many, those that share more come first, and then the latest.
    """
    if len(everything) <= ALL_ARE_NEIGHBOURS:
        return np.arange(len(everything))
    senders = {each.sender for each in batch} - {""}
    days = {each.captured[:10] for each in batch} - {""}
    places = {cell for each in batch for cell in _cells_around(each)}
    asked = {each.sha256 for each in batch}
    shared = [
        (each.sender in senders)
        + (each.captured[:10] in days)
        + (cell_of(each) in places)
        + (each.sha256 in asked)
        for each in everything
    ]
    rows = [row for row, count in enumerate(shared) if count]
    rows.sort(key=lambda row: everything[row].captured, reverse=True)  # sent again: often new
    rows.sort(key=lambda row: -shared[row])
    return np.array(sorted(rows[:NEIGHBOURS]), dtype=np.intp)


def cell_of(photo: Fingerprint) -> tuple[int, int] | None:
    """The square of about a kilometre that a photo was taken in, if its file says where."""
    if photo.decimal_latitude is None or photo.decimal_longitude is None:
        return None
    return (
        math.floor(photo.decimal_latitude / PLACE_DEGREES),
        math.floor(photo.decimal_longitude / PLACE_DEGREES),
    )


def _cells_around(photo: Fingerprint) -> Iterable[tuple[int, int]]:
    cell = cell_of(photo)
    if cell is None:
        return ()
    return [(cell[0] + north, cell[1] + east) for north in (-1, 0, 1) for east in (-1, 0, 1)]


class _Hashes:
    """The hashes of all photos, whole and without borders, with the rows they belong to."""

    def __init__(self, everything: Sequence[Fingerprint], fresh: int, look: Look) -> None:
        self._of_row = defaultdict[int, list[str]](list)
        hashes, owner = [], []
        for row, each in enumerate(everything):
            inner = look.content_phash(each) if row < fresh else each.content_phash
            for phash in {each.phash, inner}:
                if phash and not hashing.hash_is_empty(phash):
                    hashes.append(phash)
                    owner.append(row)
                    if row < fresh:
                        self._of_row[row].append(phash)
        self._index = HashIndex(hashing.pack_hashes(hashes))
        self._owner = np.array(owner, dtype=np.intp)
        self._count = len(everything)

    def pairs(
        self, batch: Sequence[int], near: NDArray[np.intp]
    ) -> Iterator[tuple[int, int, bool]]:
        """Pairs (row of the batch, any row, mirrored): close nearby, very close everywhere."""
        nearby = np.zeros(self._count, dtype=np.bool_)
        nearby[near] = True
        asked = [(row, phash) for row in batch for phash in self._of_row[row]]
        answers = self._index.within([phash for _, phash in asked], SCENE_BITS)
        for (row, _), (found, distance, turn) in zip(asked, answers, strict=True):
            other = self._owner[found]
            kept = (other != row) & ((distance <= EVERYWHERE_BITS) | nearby[other])
            for one, orientation in zip(other[kept].tolist(), turn[kept].tolist(), strict=True):
                yield row, one, orientation >= MIRRORED_FROM


def _pairs_by_features(
    batch: Sequence[int],
    everything: Sequence[Fingerprint],
    near: NDArray[np.intp],
    look: Look,
) -> Iterator[tuple[int, int, bool]]:
    """Pairs (row of the batch, any row, mirrored) that share most of its local features."""
    asking = [look.mirrored_features(everything[row]) for row in batch]
    near = _worth_loading(batch, asking, everything, near)
    answering = look.all_local_features([everything[row] for row in near.tolist()])
    for row, both in zip(batch, votes(asking, answering), strict=True):
        both[:, near == row] = 0
        share = both.max(axis=0)
        framed = bool(look.content_phash(everything[row]))
        for place in most_voted(share, framed=framed).tolist():
            for mirrored in (False, True):
                if both[int(mirrored), place] >= share[place] / 2:
                    yield row, int(near[place]), mirrored


def _worth_loading(
    batch: Sequence[int],
    asking: Sequence[tuple[bytes, bytes]],
    everything: Sequence[Fingerprint],
    near: NDArray[np.intp],
) -> NDArray[np.intp]:
    """Near rows; of those with a sketch alone only what is like a new photo of their sender."""
    bare = np.array([row for row in near.tolist() if everything[row].sketch], dtype=np.intp)
    if not bare.size:
        return near
    sketches = [everything[row].sketch for row in bare.tolist()]
    sender = np.array([everything[row].sender for row in bare.tolist()])
    asked = [(sketch_of(one), sketch_of(other)) for one, other in asking]
    wanted = np.zeros(len(bare), dtype=np.bool_)
    for row, both in zip(batch, votes(asked, sketches, tables=SKETCH_TABLES), strict=True):
        wanted |= (both.max(axis=0) >= SKETCH_VOTES) & (sender == everything[row].sender)
    return near[~np.isin(near, bare[~wanted])]
