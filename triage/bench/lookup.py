"""How long looking up copies among so many photos takes, all simulated.

Codes are drawn at random: as far from each other as those of strangers. The survey has senders,
days and places, and among its new photos some copies of known ones.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from triage.analysis.hashing import pack_hashes
from triage.bench.running import markdown, one_of_few, seconds_of
from triage.duplicates import Fingerprint, candidate_pairs
from triage.duplicates.candidates import HashIndex
from triage.duplicates.narrowing import SCENE_BITS
from triage.standards.digests import digest_of

SIZES = (10_000, 20_000, 50_000, 100_000, 200_000)
NEW_PHOTOS = 200  # a night's mail
PLANTED = ("whole", "crop", "crop without metadata", "")  # kinds among the new photos, in turn
WORDS = {
    "whole": "whole, without metadata",
    "crop": "cropped",
    "crop without metadata": "cropped, without metadata, of any day of the same sender",
}
_ALL_PAIRS = 100_000  # a first import
_ASKED = 1_000  # photos of the first import that are timed
_SENDERS, _DAYS, _PLACES = 250, 400, 60
_NIGHT_DAYS = 14  # new strangers are of so many days
_FEATURES = 200
_POOL = 20_000  # different sets of local features: 200,000 of them would fill the memory


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaleFigures:
    """Growth of the lookup, the first import, and a night's mail in a simulated survey.

    ``lookups`` has for each number of codes the processor seconds of building their array and of
    asking it for a night. ``planted`` and ``found`` count the copies among the new photos by their
    kind in `PLANTED`, and those of them that are left, with strangers, for geometry to decide:
    ``pairs`` in all.
    """

    lookups: dict[int, tuple[float, float]]
    first_import: int
    first_import_seconds: float
    survey: int
    survey_seconds: float
    pairs: int
    planted: Counter[str]
    found: Counter[str]

    def lines(self) -> list[str]:
        """The figures as a table in Markdown, and the sentences below it."""
        asked = f"ask for {NEW_PHOTOS} in 8 orientations, s"
        rows = [
            (f"{n:,}", f"{build:.2f}", f"{ask:.2f}") for n, (build, ask) in self.lookups.items()
        ]
        return [
            *markdown(("photos known", "build, s", asked), rows),
            "",
            f"All pairs of {self.first_import:,} photos: {self.first_import_seconds:.0f} s.",
            f"Simulated survey of {self.survey:,} photos, {NEW_PHOTOS} new ones:"
            f" {self.survey_seconds:.1f} s for hashes and local features together,"
            f" {self.pairs:,} pairs left for geometry.",
            *(
                f"- planted copies, {WORDS[kind]}: {self.found[kind]} of {count} among them"
                for kind, count in self.planted.items()
            ),
        ]


def measure_scale(
    *,
    sizes: Sequence[int] = SIZES,
    first_import: int = _ALL_PAIRS,
    seed: int = 1,
) -> ScaleFigures:
    """Time the lookup of copies by the number of photos known; the largest is also the survey's.

    Seconds of processor time, one core; decoding photos and geometry are not in them. A first
    import compares all with all: the time of a thousand photos is multiplied.

    Raises
    ------
    ValueError
        If ``sizes`` is empty or holds only numbers below `NEW_PHOTOS`.
    """
    if not sizes or max(sizes) < NEW_PHOTOS:
        raise ValueError(f"sizes must name at least one number from {NEW_PHOTOS} up")
    random = np.random.default_rng(seed)
    lookups = {n: _time(_hashes(n, random), _hashes(NEW_PHOTOS, random)) for n in sizes}
    codes = _hashes(first_import, random)
    build, ask = _time(codes, codes[:_ASKED])
    known, new, planted = _survey(max(sizes), random)
    pairs: list[tuple[str, str]] = []
    seconds = seconds_of(
        lambda: pairs.extend(candidate_pairs(new, known, pixels=lambda sha256: None))
    )
    found = set(pairs)
    return ScaleFigures(
        lookups=lookups,
        first_import=first_import,
        first_import_seconds=build + ask * first_import / min(first_import, _ASKED),
        survey=max(sizes),
        survey_seconds=seconds,
        pairs=len(pairs),
        planted=Counter(kind for kind, _, _ in planted),
        found=Counter(kind for kind, copy, source in planted if (copy, source) in found),
    )


def _hashes(count: int, random: np.random.Generator) -> list[str]:
    return [random.bytes(32).hex() for _ in range(count)]


def _time(codes: list[str], asked: list[str]) -> tuple[float, float]:
    """Seconds of building the array of codes, and of asking it."""
    made: list[HashIndex] = []
    build = seconds_of(lambda: made.append(HashIndex(pack_hashes(codes))))
    return build, seconds_of(lambda: list(made[0].within(asked, SCENE_BITS)))


def _survey(
    size: int, random: np.random.Generator
) -> tuple[list[Fingerprint], list[Fingerprint], list[tuple[str, str, str]]]:
    """Known photos, a night's new ones, and which of them are copies of which known one."""
    pool = [random.bytes(_FEATURES * 32) for _ in range(min(size, _POOL))]
    codes = _hashes(size, random)
    known = [_photo(f"known {i}", codes[i], pool[i % len(pool)], random) for i in range(size)]
    new, planted = [], []
    places = random.permutation(size)
    for number in range(NEW_PHOTOS):
        name = f"new {number}"
        kind = PLANTED[number % 4]
        if not kind:
            code, features = _hashes(1, random)[0], random.bytes(_FEATURES * 32)
            latest = known[number % _NIGHT_DAYS].captured
            new.append(replace(_photo(name, code, features, random), captured=latest))
            continue
        place = int(places[number])
        own = random.bytes(_FEATURES * 32)  # not those of other photos from the pool
        source = known[place] = replace(known[place], local_features=own)
        whole = kind == "whole"
        copy = replace(
            source,
            sha256=digest_of(name.encode()),
            phash=_with_flips(source.phash, 30, random) if whole else _hashes(1, random)[0],
            local_features=random.bytes(_FEATURES * 32) if whole else _partly(source, random),
        )
        if kind != "crop":  # as a messenger leaves it
            copy = replace(
                copy, captured="", camera="", decimal_latitude=None, decimal_longitude=None
            )
        new.append(copy)
        planted.append((kind, copy.sha256, source.sha256))
    return known, new, planted


def _photo(name: str, phash: str, features: bytes, random: np.random.Generator) -> Fingerprint:
    day, place = int(random.integers(_DAYS)), int(random.integers(_PLACES))
    return Fingerprint(
        sha256=digest_of(name.encode()),
        phash=phash,
        width=4000,
        height=3000,
        byte_size=4_000_000,
        sender=f"sender {one_of_few(random, _SENDERS)}",
        camera="camera",
        captured=f"{2020 + day // 200}-{5 + day % 200 // 28 % 5:02d}-{1 + day % 28:02d}T10:00:00",
        decimal_latitude=53.5 + 0.05 * place,
        decimal_longitude=21.7,
        local_features=features,
    )


def _with_flips(phash: str, bits: int, random: np.random.Generator) -> str:
    code = int(phash, 16)
    for bit in random.permutation(256)[:bits].tolist():
        code ^= 1 << bit
    return f"{code:064x}"


def _partly(photo: Fingerprint, random: np.random.Generator) -> bytes:
    """A third of a photo's features, each with 25 of 256 bits changed, among new ones."""
    features = np.frombuffer(photo.local_features, np.uint8).reshape(-1, 32).copy()
    bits = np.unpackbits(features, axis=1)
    bits ^= random.random(bits.shape) < 0.1
    mixed = np.packbits(bits, axis=1)
    mixed[len(mixed) // 3 :] = random.integers(0, 256, (len(mixed) - len(mixed) // 3, 32))
    return mixed.tobytes()
