"""Find the few pairs of photos whose pixels are worth a look: by hash, and by local features.

Hashes are compared with everything known: they find what keeps its frame, in any orientation.
Local features are compared within the neighbourhood (sender, day, place): they find crops and
rotations. Their packed bits are cut into short keys, and photos that share rare keys get votes:
Indyk, P., Motwani, R. (1998), Approximate nearest neighbors, doi 10.1145/276698.276876.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np

from triage.analysis import hashing

if TYPE_CHECKING:
    from numpy.typing import NDArray

FEATURE_BYTES = 32
TABLES = 8
KEY_BITS = 24  # of the 32 that a table looks at; tried on 221 and on 10,000 photos
MOST_VOTED = 5  # candidates a photo
MIN_VOTES = 4.0  # for fewer not even the best is looked at
FRAMED_MOST_VOTED = 8  # of a picture with a border or on a screen: its likes take the first places
MIN_LEAD = 1.25  # times the votes of the next one after them, which a stranger has
SURE_VOTES = 30.0  # always looked at: a picture sent six times has no stranger among the first six
_RARITY = 1.5  # a key is worth its number of features to this power less: words of a screen little
_FULL_KEY = 40  # photos with one key: beyond, the key says nothing
_MOST_CELLS = 24_000_000  # of a table of votes at a time: 200 MB
_FIRST_WORD_RADIUS = 26  # of 64; see HashIndex


class HashIndex:
    """All known codes in one array, for lookup in eight orientations without any tree.

    The bits of even frequencies both ways, 64 of 256, stay as they are when a picture is mirrored
    or turned by 180 degrees. They are put first, so that two comparisons of one word rule most
    strangers out for all eight orientations. A copy within radius 84 (84 / 4 = 21 expected in
    that word) is missed only when more than 26 of its differing bits fall there.
    """

    def __init__(self, hashes: Sequence[str]) -> None:
        self._order = _even_bits_first()
        codes = hashing.pack_hashes(hashes) if hashes else np.zeros((0, 4), dtype=np.uint64)
        self.codes = self._reordered(codes)
        self._first = np.ascontiguousarray(self.codes[:, 0])

    def within(
        self, phash: str, radius: int
    ) -> tuple[NDArray[np.intp], NDArray[np.uint16], NDArray[np.intp]]:
        """Rows within a radius in any orientation, their distances, and which orientation."""
        queries = self._reordered(hashing.orientations_of_hash(phash))
        rows, distances, turns = [], [], []
        for start in (0, 1):  # orientations 0, 2, 4, 6 share the first word, and so do the others
            share = np.arange(start, 8, 2)
            differing = np.bitwise_count(self._first ^ queries[start, 0])
            near = np.flatnonzero(differing <= _FIRST_WORD_RADIUS)
            codes = self.codes[near]
            for turn in share:
                distance = hashing.hamming(codes, queries[turn])
                hit = distance <= radius
                rows.append(near[hit])
                distances.append(distance[hit])
                turns.append(np.full(int(hit.sum()), turn, dtype=np.intp))
        return np.concatenate(rows), np.concatenate(distances), np.concatenate(turns)

    def _reordered(self, codes: NDArray[np.uint64]) -> NDArray[np.uint64]:
        if not len(codes):
            return codes
        return np.concatenate(
            [
                hashing.pack_bits(hashing.unpack_bits(codes[start : start + 16384])[:, self._order])
                for start in range(0, len(codes), 16384)
            ]
        )


def votes(
    asking: Sequence[tuple[bytes, bytes]], answering: Sequence[bytes]
) -> Iterator[NDArray[np.float64]]:
    """For each photo asking, how much each photo answering shares its local features.

    Parameters
    ----------
    asking : sequence of (bytes, bytes)
        Packed features of each photo and of its mirror image.
    answering : sequence of bytes
        Packed features of each photo that may be its copy.

    Yields
    ------
    float64 array, shape (2, number answering)
        For the picture and for its mirror image. A shared key counts the less the more features
        have it: rare ones tell more.

    Raises
    ------
    ValueError
        If packed features are not a multiple of 32 bytes.
    """
    descriptors = _stack(answering)
    owner = _owners(answering)
    step = max(1, _MOST_CELLS // (2 * max(1, len(answering))))
    for start in range(0, len(asking), step):
        both = [packed for pair in asking[start : start + step] for packed in pair]
        table = _votes_of_chunk(both, descriptors, owner, len(answering))
        yield from table.reshape(-1, 2, len(answering))


def most_voted(share: NDArray[np.float64], *, framed: bool = False) -> NDArray[np.intp]:
    """Places of the few that stand out from the others, best first.

    Parameters
    ----------
    share : float64 array, shape (n,)
        Votes for each photo answering.
    framed : bool
        Whether the photo asking has a border or a screen round it. Others like it then share that
        with it, and nothing can be asked of the next best.

    Returns
    -------
    intp array
        At most `MOST_VOTED` places, each with `SURE_VOTES`, or with `MIN_VOTES` and `MIN_LEAD`
        times those of the next best after them. Framed: at most `FRAMED_MOST_VOTED` places, each
        with `MIN_VOTES`.

    Raises
    ------
    ValueError
        Never.
    """
    order = np.argsort(-share, kind="stable")
    if framed:
        most = order[:FRAMED_MOST_VOTED]
        return most[share[most] >= MIN_VOTES]
    most, others = order[:MOST_VOTED], order[MOST_VOTED:]
    stranger = float(share[others[0]]) if len(others) else 0.0
    least = min(SURE_VOTES, max(MIN_VOTES, MIN_LEAD * stranger))
    return most[share[most] >= least]


def _votes_of_chunk(
    asking: Sequence[bytes], descriptors: NDArray[np.uint8], owner: NDArray[np.intp], count: int
) -> NDArray[np.float64]:
    queries = _stack(asking)
    asker = _owners(asking)
    table = np.zeros(len(asking) * count)
    for number in range(TABLES):
        wanted = _keys(queries, number)
        asked = np.zeros(1 << KEY_BITS, dtype=np.bool_)
        asked[wanted] = True
        keys = _keys(descriptors, number)
        kept = np.flatnonzero(asked[keys])
        order = kept[np.argsort(keys[kept], kind="stable")]
        ordered = keys[order]
        low = np.searchsorted(ordered, wanted)
        size = np.searchsorted(ordered, wanted, side="right") - low
        useful = (size > 0) & (size <= _FULL_KEY)
        low, size, who = low[useful], size[useful], asker[useful]
        within = np.arange(size.sum()) - np.repeat(np.cumsum(size) - size, size)
        found = owner[order[np.repeat(low, size) + within]]
        cells = np.repeat(who, size) * count + found
        np.add.at(table, cells, np.repeat(1.0 / size**_RARITY, size))
    return table


def _owners(packed: Sequence[bytes]) -> NDArray[np.intp]:
    """For each feature of all photos one after the other, the number of its photo."""
    return np.repeat(np.arange(len(packed)), [len(each) // FEATURE_BYTES for each in packed])


def _stack(packed: Sequence[bytes]) -> NDArray[np.uint8]:
    wrong = next((each for each in packed if len(each) % FEATURE_BYTES), None)
    if wrong is not None:
        raise ValueError(f"features come in {FEATURE_BYTES} bytes each, not {len(wrong)} in all")
    return np.frombuffer(b"".join(packed), dtype=np.uint8).reshape(-1, FEATURE_BYTES)


def _keys(descriptors: NDArray[np.uint8], table: int) -> NDArray[np.uint32]:
    """`KEY_BITS` of the 32 bits that this table looks at: no bit is in two tables."""
    words = np.ascontiguousarray(descriptors).view("<u4")[:, table]
    return np.asarray(words & ((1 << KEY_BITS) - 1), dtype=np.uint32)


def _even_bits_first() -> NDArray[np.intp]:
    """The order of bits that puts the 64 of even vertical and horizontal frequency first."""
    frequency = np.arange(1, 17)
    even = ((frequency[:, np.newaxis] % 2 == 0) & (frequency % 2 == 0)).ravel()
    return np.argsort(~even, kind="stable")
