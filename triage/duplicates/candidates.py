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

    Found = tuple[NDArray[np.intp], NDArray[np.uint16], NDArray[np.intp]]

TABLES = 8  # of 32 bits each: all of a feature
SKETCH_TABLES = 2  # those of a sketch; tried in docs/figures/duplicates.md
SKETCH_VOTES = 1.5  # more than one rare key in common: for fewer the whole features are not loaded
KEY_BITS = 24  # of the 32 that a table looks at; tried on 221 and on 10,000 photos
MOST_VOTED = 5  # candidates a photo
MIN_VOTES = 4.0  # for fewer not even the best is looked at
FRAMED_MOST_VOTED = 8  # of a picture with a border or on a screen: its likes take the first places
MIN_LEAD = 1.25  # times the votes of the next one after them, which a stranger has
SURE_VOTES = 30.0  # always looked at: a picture sent six times has no stranger among the first six
_RARITY = 1.5  # a key is worth its number of features to this power less: words of a screen little
_FULL_KEY = 40  # photos with one key: beyond, the key says nothing
_MOST_CELLS = 24_000_000  # of a table of votes at a time: 200 MB
_SIEVE = 1 << 21  # a table of truth values that stays in a processor's cache
_FIRST_WORD_RADIUS = 26  # of 64; see HashIndex
_NOTHING = (np.empty(0, np.intp), np.empty(0, np.uint16), np.empty(0, np.intp))


class HashIndex:
    """All known codes in one array, for lookup in eight orientations without any tree.

    Bits are put in four words, by whether their frequencies are even or odd, down and across. A
    turn or mirroring leaves each word as it is or turns all its bits round, but for quarter turns,
    which also transpose: so what differs is counted once for four orientations. The word of even
    frequencies both ways stays as it is; two comparisons of it rule most strangers out for all
    eight. A copy within radius 84 (84 / 4 = 21 expected in that word) is missed only when more
    than 26 of its differing bits fall there.
    """

    def __init__(self, codes: NDArray[np.uint64]) -> None:
        """Take codes as `triage.analysis.hashing` packs them."""
        self._words = np.ascontiguousarray(_by_parity(codes).T)

    def within(self, hashes: Sequence[str], radius: int) -> Iterator[Found]:
        """For each hash: rows within a radius in any orientation, distances and orientations."""
        asked = hashing.orientations_of_hashes(hashing.pack_hashes(hashes))
        for queries in _by_parity(asked.reshape(-1, hashing.HASH_WORDS)).reshape(asked.shape):
            yield self._within(queries, radius)

    def _within(self, queries: NDArray[np.uint64], radius: int) -> Found:
        found = []
        for start in (0, 1):  # orientations 0, 2, 4, 6 share the first word, and so do the others
            asked = queries[start]
            apart = [np.bitwise_count(self._words[number] ^ asked[number]) for number in range(4)]
            least = apart[0] + sum(np.minimum(each, 64 - each) for each in apart[1:])
            near = np.flatnonzero((apart[0] <= _FIRST_WORD_RADIUS) & (least <= radius))
            if not near.size:  # as of most: strangers stay above what is asked of everything
                continue
            here = np.array([each[near] for each in apart], dtype=np.uint16)
            turned = (queries[start::2] != asked)[:, :, np.newaxis]
            distances = np.where(turned, 64 - here, here).sum(axis=1, dtype=np.uint16)
            turn, place = np.nonzero(distances <= radius)
            found.append((near[place], distances[turn, place], start + 2 * turn))
        if not found:
            return _NOTHING
        rows, distance, turns = (np.concatenate(each) for each in zip(*found, strict=True))
        return rows, distance, turns


def sketch_of(packed: bytes) -> bytes:
    """A quarter of each packed feature: what `SKETCH_TABLES` of its tables look at.

    Raises
    ------
    ValueError
        If packed features are not a multiple of 32 bytes.
    """
    return _stack([packed], TABLES)[:SKETCH_TABLES].T.tobytes()


def votes(
    asking: Sequence[tuple[bytes, bytes]], answering: Sequence[bytes], *, tables: int = TABLES
) -> Iterator[NDArray[np.float64]]:
    """For each photo asking, how much each photo answering shares its local features.

    Parameters
    ----------
    asking : sequence of (bytes, bytes)
        Packed features of each photo and of its mirror image.
    answering : sequence of bytes
        Packed features of each photo that may be its copy.
    tables : int
        Words of four bytes that a feature has here: all of them, or those of a sketch.

    Yields
    ------
    float64 array, shape (2, number answering)
        For the picture and for its mirror image. A shared key counts the less the more features
        have it: rare ones tell more.

    Raises
    ------
    ValueError
        If packed features are not a multiple of four bytes a table.
    """
    descriptors = _stack(answering, tables)
    owner = _owners(answering, tables)
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
    asked = np.flatnonzero(share >= MIN_VOTES / MIN_LEAD)  # of a lesser stranger nothing is asked
    order = asked[np.argsort(-share[asked], kind="stable")]
    if framed:
        most = order[:FRAMED_MOST_VOTED]
        return most[share[most] >= MIN_VOTES]
    most, others = order[:MOST_VOTED], order[MOST_VOTED:]
    stranger = float(share[others[0]]) if len(others) else 0.0
    least = min(SURE_VOTES, max(MIN_VOTES, MIN_LEAD * stranger))
    return most[share[most] >= least]


def _votes_of_chunk(
    asking: Sequence[bytes], descriptors: NDArray[np.uint32], owner: NDArray[np.intp], count: int
) -> NDArray[np.float64]:
    tables = len(descriptors)
    queries = _stack(asking, tables)
    asker = _owners(asking, tables)
    table = np.zeros(len(asking) * count)
    for number in range(tables):
        wanted = _keys(queries, number)
        asked = np.zeros(_SIEVE, dtype=np.bool_)
        asked[wanted & (_SIEVE - 1)] = True
        keys = _keys(descriptors, number)
        kept = np.flatnonzero(asked[keys & (_SIEVE - 1)])  # and some others, which nobody asks for
        order = kept[np.argsort(keys[kept])]
        low, size = _runs(keys[order], wanted)
        useful = (size > 0) & (size <= _FULL_KEY)
        low, size, who = low[useful], size[useful], asker[useful]
        within = np.arange(size.sum()) - np.repeat(np.cumsum(size) - size, size)
        found = owner[order[np.repeat(low, size) + within]]
        cells = np.repeat(who, size) * count + found
        np.add.at(table, cells, np.repeat(1.0 / size**_RARITY, size))
    return table


def _owners(packed: Sequence[bytes], tables: int) -> NDArray[np.intp]:
    """For each feature of all photos one after the other, the number of its photo."""
    return np.repeat(np.arange(len(packed)), [len(each) // (4 * tables) for each in packed])


def _stack(packed: Sequence[bytes], tables: int) -> NDArray[np.uint32]:
    """The features of all photos, a row for each table, so that its keys lie side by side."""
    wrong = next((each for each in packed if len(each) % (4 * tables)), None)
    if wrong is not None:
        raise ValueError(f"features come in {4 * tables} bytes each, not {len(wrong)} in all")
    words = np.frombuffer(b"".join(packed), dtype="<u4").reshape(-1, tables)
    return np.ascontiguousarray(words.T)


def _keys(descriptors: NDArray[np.uint32], table: int) -> NDArray[np.uint32]:
    """`KEY_BITS` of the 32 bits that this table looks at: no bit is in two tables."""
    return np.asarray(descriptors[table] & np.uint32((1 << KEY_BITS) - 1), dtype=np.uint32)


def _runs(
    ordered: NDArray[np.uint32], wanted: NDArray[np.uint32]
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Where each wanted key begins among ordered ones, and how often it stands there."""
    keys, starts, counts = np.unique(ordered, return_index=True, return_counts=True)
    if not keys.size:
        nothing = np.zeros(len(wanted), dtype=np.intp)
        return nothing, nothing
    turn = np.argsort(wanted)  # what is asked in order is found without jumping about in memory
    place = np.empty(len(wanted), dtype=np.intp)
    place[turn] = np.minimum(np.searchsorted(keys, wanted[turn]), len(keys) - 1)
    return starts[place], np.where(keys[place] == wanted, counts[place], 0)


def _by_parity(codes: NDArray[np.uint64]) -> NDArray[np.uint64]:
    """Codes with their bits in four words: frequencies even or odd, down and across.

    A word of a code has four rows of 16 bits, the odd row and the odd bit first, and an even
    frequency's bit is the lower one in its byte: so the bits of one kind in the four words fit into
    one another.
    """
    codes = codes.astype("<u8", copy=False)
    even = np.uint64(0x5555_0000_5555_0000)
    odd, down = np.uint64(1), np.uint64(16)
    found = np.empty_like(codes)
    for kind, lying in enumerate((codes, codes >> odd, codes << down, codes >> odd << down)):
        of_kind = lying & even
        found[:, kind] = (
            of_kind[:, 0]
            | of_kind[:, 1] << odd
            | of_kind[:, 2] >> down
            | of_kind[:, 3] << odd >> down
        )
    return found
