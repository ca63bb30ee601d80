"""Link new photos to their copies and to the frames of their burst."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Mapping, Sequence

from triage.analysis import hashing, keypoints
from triage.duplicates.bursts import (
    burst_links,
    burst_words,
    may_be_burst,
    near_in_time,
    seconds_between,
)
from triage.duplicates.look import Look, Pixels, StoredFeatures
from triage.duplicates.narrowing import candidate_rows, distinct
from triage.duplicates.records import Fingerprint, PhotoLink, worth

Progress = Callable[[int, int], None]
Whole = Callable[[Collection[str]], Mapping[str, Fingerprint]]

# Chosen in docs/figures/duplicates.md, reproduced by `triage bench copies`.
SAME_BITS = 20  # of 256: the same picture, also without a look at its pixels
SAME_GREY = 0.5  # mean difference of 256 grey values: decoders differ by less, JPEG by more


def find_links(
    new: Sequence[Fingerprint],
    known: Sequence[Fingerprint],
    *,
    pixels: Pixels,
    features: StoredFeatures | None = None,
    whole: Whole | None = None,
    progress: Progress | None = None,
) -> list[PhotoLink]:
    """Links of new photos with known ones and among themselves; known pairs are not looked at.

    But for known frames taken near a new one: between two of them it may stand, or stand no more.

    Parameters
    ----------
    new, known : sequences of Fingerprint
        One a digest; a new one that is also known counts as new.
    pixels : callable
        Digest -> upright grey picture (uint8, long side at most 512), or None when not at hand.
    features : callable, optional
        Digests -> stored ``local_features``, for fingerprints that leave them empty: asked for the
        neighbourhood of the new photos only, and of what has a sketch for those whose sketch is
        like a new one's. Where it gives nothing, pixels are asked.
    whole : callable, optional
        Digests -> whole fingerprints, for known ones that hold only what narrows the search
        (hashes, features, time and place): asked for the few that are left.
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
    fresh, old = distinct(new, known)
    look = Look(pixels, features)
    pairs = candidate_rows(fresh, old, look)
    everything = [*fresh, *old]
    frames = near_in_time(fresh, old)
    if whole is not None:
        asked = {everything[row].sha256 for pair in pairs for row in pair if row >= len(fresh)}
        found = whole(asked | {each.sha256 for each in frames})
        everything = [found.get(each.sha256, each) for each in everything]
        frames = [found[each.sha256] for each in frames]
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
    for link in burst_links([*fresh, *frames]):
        links.setdefault((link.first, link.second), link)
    return [links[key] for key in sorted(links)]


def _decide(
    one: Fingerprint, two: Fingerprint, look: Look, ways: Collection[bool]
) -> PhotoLink | None:
    """What the pixels of a candidate pair say; what the hashes say where they are not at hand."""
    better, lesser = sorted((one, two), key=worth, reverse=True)
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
