"""How many of 38 kinds of copy are found among photos, and how many strangers are joined.

Every kind is made here from the photos given, and looked for among them as a survey would.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from triage.analysis import images
from triage.bench.edits import KINDS, MOVED, Picture
from triage.bench.running import markdown
from triage.duplicates import Fingerprint, find_links, pixel_keys
from triage.errors import SourceError
from triage.photos.loose_files import content_of, loose_files
from triage.standards.digests import digest_of
from triage.workers.progress import Progress, silent

ORIGINAL_PX = 512  # long side of what the copies are made from
PAIRS = 499_500  # of 1,000 photos: false joins are given per so many


@dataclass(frozen=True, slots=True, kw_only=True)
class KindFigures:
    """One kind of picture: how many were made, and how many found as copies of their source.

    ``false_joins`` are those of ``pairs`` of different photos that were called copies.
    """

    kind: str
    made: int
    found: int
    false_joins: int
    pairs: int

    @property
    def recall(self) -> float:
        """Share found, 0 to 1."""
        return self.found / self.made

    def row(self) -> tuple[str, int, int, str]:
        """One row of the table."""
        return self.kind, self.made, self.found, f"{self.recall:.3f}"


@dataclass(frozen=True, slots=True, kw_only=True)
class CopiesFigures:
    """What was found of every kind, and how many pairs of strangers were joined.

    ``originals_joined`` are pairs of the photos given that were called copies: look at them, the
    folder may hold copies already. ``scenes`` are frames made not to be copies (something moved in
    them) and how many of them were called copies.
    """

    photos: int
    kinds: tuple[KindFigures, ...]
    scenes: tuple[KindFigures, ...]
    originals_joined: tuple[tuple[str, str], ...]
    seconds: float

    def lines(self) -> list[str]:
        """The figures as a table in Markdown, and the sentences below it."""
        worst = min(self.kinds, key=lambda kind: kind.recall)
        mean = float(np.mean([each.recall for each in self.kinds]))
        joined, pairs = sum(k.false_joins for k in self.kinds), sum(k.pairs for k in self.kinds)
        moved = ("not a copy", "made", "called a copy", "share")
        return [
            *markdown(("kind", "made", "found", "recall"), [one.row() for one in self.kinds]),
            "",
            *markdown(moved, [one.row() for one in self.scenes]),
            "",
            f"{self.photos} photos, {len(self.kinds)} kinds of copy, {self.seconds:.0f} s.",
            f"Mean recall {mean:.4f}; least {worst.recall:.3f} ({worst.kind}).",
            f"{joined} false joins in {pairs:,} pairs of different photos:"
            f" {joined * PAIRS / pairs:.2f} in {PAIRS:,}.",
            f"{len(self.originals_joined)} of {self.photos * (self.photos - 1) // 2:,} pairs of the"
            " photos themselves were called copies.",
            *(f"- {first} and {second}" for first, second in self.originals_joined),
        ]


def measure_copies(
    folder: Path,
    *,
    limit: int = 100,
    progress: Progress = silent,
) -> CopiesFigures:
    """Make every kind of copy of the photos in a folder and look how many are found.

    At most ``limit`` photos are used (0: all), spread evenly over the sorted names. A false join is
    a copy link between pictures of different photos: of a made copy with another photo, or of two
    made copies of one kind.

    Raises
    ------
    SourceError
        If the folder holds fewer than two readable photos.
    """
    started = time.perf_counter()
    read = _some_photos(folder, limit)
    names = [name for name, _ in read]
    originals = [picture for _, picture in read]
    shelf = _Shelf()
    known = [shelf.add(name, picture) for name, picture in zip(names, originals, strict=True)]
    links = find_links(known, [], pixels=shelf.pixels)
    name_of = {each.sha256: name for each, name in zip(known, names, strict=True)}
    joined = [(name_of[x.first], name_of[x.second]) for x in links if x.kind == "copy"]
    figures: list[KindFigures] = []
    makers = KINDS | MOVED
    for done, (kind, maker) in enumerate(makers.items(), start=1):
        random = np.random.default_rng([1, done])
        pictures = [maker(picture, random) for picture in originals]
        figures.append(_one_kind(kind, pictures, names, known, shelf))
        progress("making and looking for copies", done, len(makers))
    return CopiesFigures(
        photos=len(names),
        kinds=tuple(figures[: len(KINDS)]),
        scenes=tuple(figures[len(KINDS) :]),
        originals_joined=tuple(joined),
        seconds=time.perf_counter() - started,
    )


def _some_photos(folder: Path, most: int) -> list[tuple[str, images.Pixels]]:
    """Name and pixels of a folder's readable photos, at most so many (0: all) of them.

    They are spread evenly over the sorted names; the pixels are shrunk to `ORIGINAL_PX`.

    Raises
    ------
    SourceError
        If there are fewer than two.
    """
    files = loose_files([folder], refused=lambda *_: None)
    if most and len(files) > most:
        files = [files[round(place)] for place in np.linspace(0, len(files) - 1, most)]
    read = []
    for file in files:
        try:
            rgb = images.decode(content_of(file), name=file.name).rgb
        except SourceError:
            continue
        read.append((file.name, images.shrink(rgb, ORIGINAL_PX)))
    if len(read) < 2:
        raise SourceError(
            "holds fewer than two readable photos",
            failing=str(folder),
            next_step="Name a folder with some dozens of photos.",
        )
    return read


class _Shelf:
    """Grey pixels by digest, and fingerprints as the survey would keep them."""

    def __init__(self) -> None:
        self._grey: dict[str, NDArray[np.uint8]] = {}

    def pixels(self, sha256: str) -> NDArray[np.uint8] | None:
        return self._grey.get(sha256)

    def add(self, name: str, picture: Picture) -> Fingerprint:
        grey = images.grey_of(images.shrink(np.ascontiguousarray(picture), ORIGINAL_PX))
        sha256 = digest_of(name.encode())
        self._grey[sha256] = grey
        keys = pixel_keys(grey)
        return Fingerprint(
            sha256=sha256,
            phash=keys.phash,
            width=picture.shape[1],
            height=picture.shape[0],
            byte_size=picture.size,
            content_phash=keys.content_phash,
            local_features=keys.local_features,
        )

    def drop(self, photos: Sequence[Fingerprint]) -> None:
        for photo in photos:
            del self._grey[photo.sha256]


def _one_kind(
    kind: str,
    pictures: Sequence[Picture],
    names: Sequence[str],
    known: Sequence[Fingerprint],
    shelf: _Shelf,
) -> KindFigures:
    made = [
        shelf.add(f"{kind} of {name}", picture)
        for name, picture in zip(names, pictures, strict=True)
    ]
    source = {photo.sha256: number for number, photo in enumerate(known)}
    source |= {photo.sha256: number for number, photo in enumerate(made)}
    links = find_links(made, known, pixels=shelf.pixels)
    copies = [(source[x.first], source[x.second]) for x in links if x.kind == "copy"]
    shelf.drop(made)
    count = len(made)
    return KindFigures(
        kind=kind,
        made=count,
        found=len({one for one, other in copies if one == other}),
        false_joins=sum(one != other for one, other in copies),
        pairs=count * (count - 1) + count * (count - 1) // 2,
    )
