"""Make copy groups, each with its best copy, and bursts from links."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence

from triage.duplicates.records import BurstGroup, CopyGroup, Fingerprint, PhotoLink, worth


def copy_groups(links: Iterable[PhotoLink], fingerprints: Iterable[Fingerprint]) -> list[CopyGroup]:
    """Photos joined by copy links, each group with its best copy; input order does not matter.

    The best copy shows the scene with most pixels (a border or a screen round it does not count),
    then carries most metadata, then has most bytes. Links to photos without a fingerprint are
    left out.
    """
    known = {each.sha256: each for each in fingerprints}
    kept = [each for each in links if each.kind == "copy"]
    shares = _picture_shares(kept)
    groups = []
    for members, inner in _components(kept, known):
        best = max(members, key=lambda name: worth(known[name], shares.get(name, 1.0)))
        groups.append(
            CopyGroup(
                identifier=f"copies-{members[0][:16]}",
                members=tuple(members),
                best=best,
                evidence=_words(inner),
            )
        )
    return groups


def burst_groups(
    links: Iterable[PhotoLink], fingerprints: Iterable[Fingerprint]
) -> list[BurstGroup]:
    """Photos joined by burst links, frames in order of capture; copies of frames are left out.

    Of frames that are copies of each other only the best is a frame. The best frame here is the
    one with most pixels; which one shows the insect best is for its measurements to say.
    """
    known = {each.sha256: each for each in fingerprints}
    everything = list(links)
    stands_for = {
        member: group.best
        for group in copy_groups(everything, known.values())
        for member in group.members
    }
    kept = [
        each
        for each in everything
        if each.kind == "burst"
        and stands_for.get(each.first, each.first) != stands_for.get(each.second, each.second)
    ]
    groups = []
    for members, inner in _components(kept, known, stands_for):
        frames = sorted(members, key=lambda name: (known[name].captured, name))
        groups.append(
            BurstGroup(
                identifier=f"burst-{members[0][:16]}",
                members=tuple(frames),
                best=max(members, key=lambda name: worth(known[name], 1.0)),
                evidence=_words(inner),
            )
        )
    return groups


def _components(
    links: Sequence[PhotoLink],
    known: Mapping[str, Fingerprint],
    stands_for: Mapping[str, str] | None = None,
) -> list[tuple[list[str], list[PhotoLink]]]:
    """Digests joined by links, sorted, with the links that join them."""
    stand: Mapping[str, str] = stands_for or {}
    root: dict[str, str] = {}

    def find(name: str) -> str:
        while root.setdefault(name, name) != name:
            root[name] = root[root[name]]
            name = root[name]
        return name

    kept = [each for each in links if each.first in known and each.second in known]
    for link in kept:
        one, two = sorted(find(stand.get(name, name)) for name in (link.first, link.second))
        root[two] = one
    members, inner = defaultdict[str, list[str]](list), defaultdict[str, list[PhotoLink]](list)
    for name in sorted(root):
        members[find(name)].append(name)
    for link in kept:
        inner[find(stand.get(link.first, link.first))].append(link)
    return [(members[name], inner[name]) for name in sorted(members)]


def _picture_shares(links: Sequence[PhotoLink]) -> dict[str, float]:
    """How much of each file is picture: the least that a link to another copy says."""
    shares: dict[str, float] = {}
    for link in links:
        for name, share in (
            (link.first, link.picture_share_first),
            (link.second, link.picture_share_second),
        ):
            shares[name] = min(share, shares.get(name, 1.0))
    return shares


def _words(links: Sequence[PhotoLink]) -> str:
    return "; ".join(sorted({each.evidence for each in links}))
