"""Fingerprints of new and known photos in, links between copies and between burst frames out."""

from __future__ import annotations

import math
from collections import OrderedDict, defaultdict
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from itertools import chain
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from triage.analysis import hashing, keypoints
from triage.duplicates.bursts import burst_links, burst_words, may_be_burst, seconds_between
from triage.duplicates.candidates import HashIndex, most_voted, votes
from triage.duplicates.records import Fingerprint, PhotoLink

if TYPE_CHECKING:
    from numpy.typing import NDArray

Pixels = Callable[[str], "NDArray[np.uint8] | None"]
StoredFeatures = Callable[[str], bytes]
Progress = Callable[[int, int], None]

# Chosen in docs/duplicates.md, reproduced by `triage bench copies`.
SAME_BITS = 20  # of 256: the same picture, also without a look at its pixels
SCENE_BITS = 84  # of 256: the same scene, asked within the neighbourhood
EVERYWHERE_BITS = 64  # of 256: asked of every photo known; strangers of 200,000 stay above
NEIGHBOURS = 40_000  # most photos whose local features are compared in one call
BATCH = 1_000  # new photos, those of one sender together, with one neighbourhood
ALL_ARE_NEIGHBOURS = 5_000  # a collection this small needs no narrowing
PLACE_DEGREES = 0.01  # about a kilometre: the neighbourhood of a place
FEATURES_KEPT = 200  # packed with a fingerprint
MIRRORED_FROM = 4  # of the eight orientations; see hashing.ORIENTATION_NAMES
SAME_GREY = (
    0.5  # mean difference of 256 grey values: decoders differ by less, recompression by more
)
_CACHED = 400  # photos whose features are kept at hand


class PixelKeys(NamedTuple):
    """What `Fingerprint` needs of the pixels."""

    phash: str
    content_phash: str
    local_features: bytes


def pixel_keys(grey: NDArray[np.uint8]) -> PixelKeys:
    """The hashes and packed local features of one picture, to be stored with its fingerprint.

    Parameters
    ----------
    grey : uint8 array, shape (height, width)
        The upright picture, long side at most 512 or so.

    Returns
    -------
    PixelKeys
        ``content_phash`` is empty when the picture has no border to take off.

    Raises
    ------
    ValueError
        If ``grey`` is not a two-dimensional uint8 array with at least one pixel.
    """
    inner = hashing.content(grey)
    features = keypoints.find_descriptors(inner, count=FEATURES_KEPT)
    return PixelKeys(
        phash=hashing.phash256(grey),
        content_phash=hashing.phash256(inner) if inner.size < grey.size else "",
        local_features=features.tobytes(),
    )


def find_links(
    new: Sequence[Fingerprint],
    known: Sequence[Fingerprint],
    *,
    pixels: Pixels,
    features: StoredFeatures | None = None,
    progress: Progress | None = None,
) -> list[PhotoLink]:
    """Links of new photos with known ones and among themselves; known pairs are not looked at.

    Parameters
    ----------
    new, known : sequences of Fingerprint
        One a digest; a new one that is also known counts as new.
    pixels : callable
        Digest -> upright grey picture (uint8, long side at most 512), or None when not at hand.
    features : callable, optional
        Digest -> stored ``local_features``, for fingerprints that leave them empty: asked for the
        neighbourhood of the new photos only. Where it gives nothing, pixels are asked.
    progress : callable, optional
        Called with (new photos done, new photos in all).

    Returns
    -------
    list of PhotoLink
        Sorted, each pair once, whatever the order of the input. Photos of one digest are one
        photo and get no link.

    Raises
    ------
    ValueError
        If a hash is not 64 hexadecimal digits.
    """
    fresh, old = _distinct(new, known)
    look = _Look(pixels, features)
    everything = [*fresh, *old]
    pairs = _candidates(fresh, old, look)
    links = dict[tuple[str, str], PhotoLink]()
    by_new = defaultdict[int, list[int]](list)
    for first, second in sorted(pairs):
        by_new[first].append(second)
    for done, row in enumerate(range(len(fresh)), start=1):
        for other in by_new[row]:
            link = _decide(everything[row], everything[other], look, pairs[row, other])
            if link is not None:
                links[link.first, link.second] = link
        if progress is not None:
            progress(done, len(fresh))
    for link in burst_links(fresh, old):
        links.setdefault((link.first, link.second), link)
    return [links[key] for key in sorted(links)]


def candidate_pairs(
    new: Sequence[Fingerprint],
    known: Sequence[Fingerprint],
    *,
    pixels: Pixels,
    features: StoredFeatures | None = None,
) -> list[tuple[str, str]]:
    """The pairs of digests that `find_links` looks at, new ones first: what narrowing leaves.

    Parameters and errors are those of `find_links`.
    """
    fresh, old = _distinct(new, known)
    everything = [*fresh, *old]
    pairs = _candidates(fresh, old, _Look(pixels, features))
    return [(everything[one].sha256, everything[other].sha256) for one, other in sorted(pairs)]


def _distinct(
    new: Sequence[Fingerprint], known: Sequence[Fingerprint]
) -> tuple[list[Fingerprint], list[Fingerprint]]:
    """Both in the order of their digests, each digest once, new before known."""
    fresh = {each.sha256: each for each in new}
    old = {each.sha256: each for each in known if each.sha256 not in fresh}
    return [fresh[name] for name in sorted(fresh)], [old[name] for name in sorted(old)]


def _candidates(
    fresh: Sequence[Fingerprint], old: Sequence[Fingerprint], look: _Look
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


class _Look:
    """Pixels and features of photos, each fetched once, the latest few hundred kept."""

    def __init__(self, pixels: Pixels, stored: StoredFeatures | None) -> None:
        self._pixels = pixels
        self._stored = stored
        self._features = OrderedDict[str, "keypoints.Features | None"]()
        self._keys = dict[str, PixelKeys | None]()

    def features(self, photo: Fingerprint) -> keypoints.Features | None:
        if photo.sha256 not in self._features:
            grey = self._pixels(photo.sha256)
            self._features[photo.sha256] = None if grey is None else keypoints.find_features(grey)
            if len(self._features) > _CACHED:
                self._features.popitem(last=False)
        self._features.move_to_end(photo.sha256)
        return self._features[photo.sha256]

    def local_features(self, photo: Fingerprint) -> bytes:
        if photo.local_features:
            return photo.local_features
        stored = self._stored(photo.sha256) if self._stored is not None else b""
        if stored:
            return stored
        keys = self._keys_of(photo)
        return b"" if keys is None else keys.local_features

    def mirrored_features(self, photo: Fingerprint) -> tuple[bytes, bytes]:
        """Packed features of the picture and of its mirror image; nothing without pixels."""
        grey = self._pixels(photo.sha256)
        if grey is None:
            return photo.local_features, b""
        flipped = np.ascontiguousarray(hashing.content(grey)[:, ::-1])
        mirrored = keypoints.find_descriptors(flipped, count=FEATURES_KEPT)
        return self.local_features(photo), mirrored.tobytes()

    def content_phash(self, photo: Fingerprint) -> str:
        """The hash without borders; for a photo stored without one, from its pixels."""
        if photo.content_phash or photo.local_features:
            return photo.content_phash
        keys = self._keys_of(photo)
        return "" if keys is None else keys.content_phash

    def _keys_of(self, photo: Fingerprint) -> PixelKeys | None:
        if photo.sha256 not in self._keys:
            grey = self._pixels(photo.sha256)
            self._keys[photo.sha256] = None if grey is None else pixel_keys(grey)
        return self._keys[photo.sha256]


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
        + (_cell(each) in places)
        + (each.sha256 in asked)
        for each in everything
    ]
    rows = [row for row, count in enumerate(shared) if count]
    rows.sort(key=lambda row: everything[row].captured, reverse=True)  # sent again: often new
    rows.sort(key=lambda row: -shared[row])
    return np.array(sorted(rows[:NEIGHBOURS]), dtype=np.intp)


def _cell(photo: Fingerprint) -> tuple[int, int] | None:
    if photo.decimal_latitude is None or photo.decimal_longitude is None:
        return None
    return (
        math.floor(photo.decimal_latitude / PLACE_DEGREES),
        math.floor(photo.decimal_longitude / PLACE_DEGREES),
    )


def _cells_around(photo: Fingerprint) -> Iterable[tuple[int, int]]:
    cell = _cell(photo)
    if cell is None:
        return ()
    return [(cell[0] + north, cell[1] + east) for north in (-1, 0, 1) for east in (-1, 0, 1)]


class _Hashes:
    """The hashes of all photos, whole and without borders, with the rows they belong to."""

    def __init__(self, everything: Sequence[Fingerprint], fresh: int, look: _Look) -> None:
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
        self._index = HashIndex(hashes)
        self._owner = np.array(owner, dtype=np.intp)
        self._count = len(everything)

    def pairs(
        self, batch: Sequence[int], near: NDArray[np.intp]
    ) -> Iterator[tuple[int, int, bool]]:
        """Pairs (row of the batch, any row, mirrored): close nearby, very close everywhere."""
        nearby = np.zeros(self._count, dtype=np.bool_)
        nearby[near] = True
        for row in batch:
            for phash in self._of_row[row]:
                found, distance, turn = self._index.within(phash, SCENE_BITS)
                other = self._owner[found]
                kept = (other != row) & ((distance <= EVERYWHERE_BITS) | nearby[other])
                for one, orientation in zip(other[kept].tolist(), turn[kept].tolist(), strict=True):
                    yield row, one, orientation >= MIRRORED_FROM


def _pairs_by_features(
    batch: Sequence[int],
    everything: Sequence[Fingerprint],
    near: NDArray[np.intp],
    look: _Look,
) -> Iterator[tuple[int, int, bool]]:
    """Pairs (row of the batch, any row, mirrored) that share most of its local features."""
    answering = [look.local_features(everything[row]) for row in near.tolist()]
    asking = [look.mirrored_features(everything[row]) for row in batch]
    for row, both in zip(batch, votes(asking, answering), strict=True):
        both[:, near == row] = 0
        share = both.max(axis=0)
        for place in most_voted(share).tolist():
            for mirrored in (False, True):
                if both[int(mirrored), place] >= share[place] / 2:
                    yield row, int(near[place]), mirrored


def _decide(
    one: Fingerprint, two: Fingerprint, look: _Look, ways: Collection[bool]
) -> PhotoLink | None:
    """What the pixels of a candidate pair say; what the hashes say where they are not at hand."""
    better, lesser = sorted((one, two), key=_worth, reverse=True)
    best, other = look.features(better), look.features(lesser)
    if best is None or other is None:
        bits = hashing.hash_distance(one.phash, two.phash)
        if bits > SAME_BITS or hashing.hash_is_empty(one.phash) or _other_exposure(one, two):
            return None
        return _link("copy", better, lesser, f"same look ({bits} of 256 bits differ)")
    relation = keypoints.relate(best, other, mirrored=sorted(ways))
    if not relation.is_copy:
        if relation.same_scene and may_be_burst(one, two):
            return _link("burst", better, lesser, "same scene, something moved")
        return None
    if _other_exposure(one, two):
        if may_be_burst(one, two):
            return _link("burst", better, lesser, burst_words(one, two))
        return None
    return _link("copy", better, lesser, _copy_words(better, lesser, relation), relation=relation)


def _worth(photo: Fingerprint) -> tuple[int, int, int, str]:
    return photo.width * photo.height, photo.metadata_fields, photo.byte_size, photo.sha256


def _other_exposure(one: Fingerprint, two: Fingerprint) -> bool:
    """Whether camera and clock say that these are two exposures, however alike they look.

    A copy keeps its capture time, or loses it, or has it corrected by a time zone: whole quarters
    of an hour.
    """
    if not (one.captured and two.captured) or one.camera != two.camera:
        return False
    seconds = seconds_between(one, two)
    least = 0.01 if "." in one.captured and "." in two.captured else 1.0
    return seconds is not None and seconds >= least and seconds % 900 >= least


def _copy_words(better: Fingerprint, lesser: Fingerprint, relation: keypoints.Relation) -> str:
    """How the lesser file was made from the better one."""
    words = [keypoints.evidence_words(relation)] if keypoints.evidence_words(relation) else []
    factor = relation.scale * max(lesser.width, lesser.height) / max(better.width, better.height)
    if not 0.97 < factor < 1.03:
        words.append(f"resized to {factor:.0%}")
    if not words:
        same = relation.difference < SAME_GREY
        words.append("same pixels, other file" if same else "recompressed or toned")
    return ", ".join(words)


def _link(
    kind: str,
    better: Fingerprint,
    lesser: Fingerprint,
    evidence: str,
    *,
    relation: keypoints.Relation | None = None,
) -> PhotoLink:
    share = {better.sha256: 1.0, lesser.sha256: 1.0}
    if relation is not None and relation.frames == "first":
        share[better.sha256] = relation.cover_first
    if relation is not None and relation.frames == "second":
        share[lesser.sha256] = relation.cover_second
    first, second = sorted(share)
    return PhotoLink(
        kind="copy" if kind == "copy" else "burst",
        first=first,
        second=second,
        evidence=evidence,
        picture_share_first=share[first],
        picture_share_second=share[second],
    )
